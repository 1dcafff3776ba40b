"""Places on the fingerboard: string and finger in first position."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.tunes.pitch import LETTERS, Pitch
from tunememory.tunes.spelling import alters_of, spell

if TYPE_CHECKING:
    from tunememory.tunes.key import Key
    from tunememory.tunes.tuning import Tuning

HIGHEST = 8
"""Highest place of first position, in semitones above the open string (4th finger stretched)."""

SET = {
    (0, 0): "", (1, 1): "low", (1, 2): "", (1, 3): "high", (2, 3): "low", (2, 4): "",
    (3, 4): "low", (3, 5): "", (3, 6): "high", (4, 6): "low", (4, 7): "", (4, 8): "high",
}  # fmt: skip
"""How a finger is set so many semitones above the open string (first position of the violin):
the plain finger is a whole-tone first, high second, third, fourth."""

_USUAL_FINGERS = (0, 1, 1, 2, 2, 3, 3, 4, 4)
"""Finger so many semitones above the open string where the letter of the note names none."""

OUT_OF_REACH = "–"
"""Stands where a note has no place in first position."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a note is stopped.

    Attributes:
        string: Index into the tuning's strings, low string first.
        semitones: Above the open string, 0 to ``HIGHEST``.
        finger: 0 (open) to 4.
    """

    string: int
    semitones: int
    finger: int


def places_of(pitch: Pitch, tuning: Tuning) -> tuple[Place, ...]:
    """Every place in first position that sounds ``pitch``, low string first."""
    found = (place_on(string, pitch, tuning) for string in range(len(tuning.strings)))
    return tuple(place for place in found if place is not None)


def place_on(string: int, pitch: Pitch, tuning: Tuning) -> Place | None:
    """Where ``pitch`` is stopped on a string, ``None`` out of first position.

    The letter of the note decides the finger, one a letter from the open string on: E flat on
    the A string is a low fourth finger, D sharp a high third.
    """
    open_string = tuning.strings[string]
    semitones = pitch.midi - open_string
    if not 0 <= semitones <= HIGHEST:
        return None
    finger = pitch.step - _open_step(open_string)
    if (finger, semitones) not in SET:
        finger = _USUAL_FINGERS[semitones]
    return Place(string, semitones, finger)


def pitch_at(place: Place, key: Key | None, tuning: Tuning) -> Pitch:
    """What sounds at a place, spelled as the key has it, else with the letter of the finger.

    A letter that would take two signs is not used: a high first finger on the E string is G.
    """
    open_string = tuning.strings[place.string]
    midi = open_string + place.semitones
    usual = spell(midi, key)
    in_key = alters_of(key)[usual.letter] == usual.alter
    if in_key or place_on(place.string, usual, tuning) == place:
        return usual
    octave, letter = divmod(_open_step(open_string) + place.finger, len(LETTERS))
    natural = Pitch(octave, LETTERS[letter])
    alter = midi - natural.midi
    return replace(natural, alter=alter) if abs(alter) == 1 else usual


@lru_cache(maxsize=128)
def _open_step(open_string: int) -> int:
    return spell(open_string, None).step


def place_mark(place: Place) -> str:
    """The finger and how it is set: ``"1"``, ``"L2"``, ``"H3"``."""
    return SET[place.finger, place.semitones][:1].upper() + str(place.finger)


def place_name(place: Place | None, tuning: Tuning) -> str:
    """Short name: ``"A1"``, ``"EL2"``, in cross A ``"E,0"`` for the low E string."""
    if place is None:
        return OUT_OF_REACH
    return tuning.string_names[place.string] + place_mark(place)


def long_place_name(place: Place | None, tuning: Tuning) -> str:
    """Name for a sentence: ``"A1"``, ``"E low 2"``, in cross A ``"low E 0"``."""
    if place is None:
        return "out of reach"
    string = tuning.long_string_names[place.string]
    mark = f"{SET[place.finger, place.semitones]} {place.finger}".strip()
    return f"{string} {mark}" if " " in string or " " in mark else string + mark
