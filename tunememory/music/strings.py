"""Tunings, and places on the strings. The strings are what is kept, the nickname is looked up."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.music.key import alters_of
from tunememory.music.pitch import LETTERS, SEMITONES, Pitch
from tunememory.music.spelling import spell
from tunememory.text import clean_text, fold

if TYPE_CHECKING:
    from tunememory.music.key import Key


@dataclass(frozen=True, slots=True)
class Tuning:
    """Open strings of an instrument.

    Attributes:
        strings: MIDI numbers, low string first; 1 to 8 strings.
    """

    strings: tuple[int, ...]

    @property
    def letters(self) -> str:
        """String letters, low first: ``"GDAE"``, ``"AEAC#"``.

        Octave numbers are added where ``parse_tuning`` would else read another tuning:
        ``"G2 D3 A3 D4"``.
        """
        return _letters(self.strings)

    @property
    def nickname(self) -> str:
        """The trade's name (``"standard"``, ``"cross A"``), or an empty string."""
        return NICKNAMES.get(self.strings, "")

    @property
    def string_names(self) -> tuple[str, ...]:
        """One short name a string, all different, low string first.

        The highest string of a letter is the plain letter; lower ones of the same letter take a
        comma each, as octaves do in ABC: ``("A,", "E,", "A", "E")`` in AEAE.
        """
        return tuple(name + "," * below for name, below, _count in _ranks(self.strings))

    @property
    def long_string_names(self) -> tuple[str, ...]:
        """The same in words: ``("low A", "low E", "high A", "high E")`` in AEAE."""
        return tuple(
            f"{_LEVELS[count][below]} {name}".strip() if count in _LEVELS else name + "," * below
            for name, below, count in _ranks(self.strings)
        )


_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_LEVELS = {1: ("",), 2: ("high", "low"), 3: ("high", "middle", "low")}
_SIGNS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}

STANDARD = Tuning((55, 62, 69, 76))
"""Fiddle and mandolin: G3 D4 A4 E5."""

MOST_STRINGS = 8

NICKNAMES: dict[tuple[int, ...], str] = {
    (55, 62, 69, 76): "standard",
    (57, 64, 69, 76): "cross A",
    (55, 62, 67, 74): "cross G",
    (57, 62, 69, 76): "high bass",
    (55, 62, 69, 74): "gee-dad",
    (50, 62, 69, 74): "dead man's",
    (57, 64, 69, 73): "calico",
    (55, 62, 67, 71): "open G",
    (53, 60, 67, 74): "one step down",
}
"""Common practice of fiddlers; two published lists agree on the strings."""

_OTHER_NAMES = {
    "natural flat": (55, 62, 69, 76),
    "cross key": (57, 64, 69, 76),
    "cross tuning": (57, 64, 69, 76),
    "high bass high counter": (57, 64, 69, 76),
    "sawmill": (55, 62, 67, 74),
    "old time d": (57, 62, 69, 76),
    "dee dad": (50, 62, 69, 74),
    "open d": (50, 62, 69, 74),
    "black mountain": (57, 64, 69, 73),
    "open a": (57, 64, 69, 73),
    "cajun": (53, 60, 67, 74),
}
"""Further names of the same tunings: common practice, no source."""

_USUAL_OCTAVES = {
    4: STANDARD.strings,
    # A fifth string below the fiddle's four.
    5: (48, *STANDARD.strings),
}

FIVE_STRING_BANJO = (67, 50, 55, 59, 62)
"""The short drone string first, as banjo players write it (gDGBD): common practice, no source."""


def parse_tuning(text: str) -> Tuning:
    """Read a tuning: strings low first, or the trade's name.

    Four letters are a fiddle's strings, five a five-string fiddle's, or a banjo's when only the
    first is small (``gDGBD``); each string is taken in the octave nearest to the usual one. Any
    other instrument is written with octave numbers (``G2 D3 A3 D4``; C4 is middle C).

    >>> parse_tuning("aeac#") == parse_tuning("Calico") == Tuning((57, 64, 69, 73))
    True

    Raises:
        NotDoneError: One line saying what to write instead.
    """
    named = _by_name().get(fold(text).removesuffix(" tuning"))
    if named is not None:
        return Tuning(named)
    joined = re.sub(r"[\s,;·/–-]+", "", text)
    strings = _with_octaves(joined) or _without_octaves(joined)
    if strings is None:
        raise NotDoneError(
            f"“{text}” is not a tuning: write the strings low to high, such as GDAE or AEAE, "
            "or its name, such as cross A; other instruments with octaves, such as G2 D3 A3 D4"
        )
    return Tuning(strings)


def tuning_of(text: str) -> Tuning | None:
    """Return the tuning typed, ``None`` for an empty text (the usual one).

    Raises:
        NotDoneError: The text is not a tuning.
    """
    text = clean_text(text)
    return parse_tuning(text) if text else None


@lru_cache(maxsize=1)
def _by_name() -> dict[str, tuple[int, ...]]:
    return {fold(name): strings for strings, name in NICKNAMES.items()} | _OTHER_NAMES


def _with_octaves(text: str) -> tuple[int, ...] | None:
    found = re.findall(r"([A-Ga-g])([#♯b♭]?)(\d)", text)
    if not 1 <= len(found) <= MOST_STRINGS or "".join(map("".join, found)) != text:
        return None
    return tuple(
        12 * (int(octave) + 1) + SEMITONES[letter.upper()] + _SIGNS[sign]
        for letter, sign, octave in found
    )


def _without_octaves(text: str) -> tuple[int, ...] | None:
    pieces = re.findall(r"[A-Ga-g][#♯♭]?", text)
    if len(text) > 2 * MOST_STRINGS or "".join(pieces) != text:
        return None
    for signs in _flat_readings(pieces):
        usual = _USUAL_OCTAVES.get(len(signs))
        if usual is None:
            continue
        if len(signs) == 5 and text[0].islower() and text[1:].upper() == text[1:]:
            usual = FIVE_STRING_BANJO
        return tuple(
            _nearest(SEMITONES[piece[0].upper()] + _SIGNS[piece[1:]], near)
            for piece, near in zip(signs, usual, strict=True)
        )
    return None


def _flat_readings(pieces: list[str]) -> list[list[str]]:
    """Every reading of the small ``b``: a string of its own, or the flat of the letter before.

    After a capital it is a flat (``BbFCG``); among small letters it may be either.
    """
    choices = [
        (True,)
        if place and pieces[place - 1].isupper() and len(pieces[place - 1]) == 1
        else (False, True)
        for place, piece in enumerate(pieces)
        if piece == "b" and place
    ]
    small = [place for place, piece in enumerate(pieces) if piece == "b" and place]
    readings = []
    for chosen in product(*choices):
        flats = {place for place, flat in zip(small, chosen, strict=True) if flat}
        if any(len(pieces[place - 1]) > 1 or place - 1 in flats for place in flats):
            continue
        readings.append(
            [
                piece + ("♭" if place + 1 in flats else "")
                for place, piece in enumerate(pieces)
                if place not in flats
            ]
        )
    return readings


def _nearest(pitch_class: int, near: int) -> int:
    """The pitch of a class nearest to ``near``; of two a tritone away, the lower."""
    up = (pitch_class - near) % 12
    return near + up if up < 6 else near + up - 12


@lru_cache(maxsize=64)
def _letters(strings: tuple[int, ...]) -> str:
    names = [_NAMES[number % 12] for number in strings]
    plain = "".join(names)
    for text in (plain, plain[0].lower() + plain[1:]):
        if _without_octaves(text) == strings:
            return text
    return " ".join(
        f"{name}{number // 12 - 1}" for name, number in zip(names, strings, strict=True)
    )


@lru_cache(maxsize=64)
def _ranks(strings: tuple[int, ...]) -> tuple[tuple[str, int, int], ...]:
    """For each string its letter, how many of that letter lie higher, and how many there are."""
    letters = [_NAMES[number % 12] for number in strings]
    ranks = []
    for place, letter in enumerate(letters):
        same = [(strings[i], i) for i in range(len(strings)) if letters[i] == letter]
        ranks.append((letter, sum(other > (strings[place], place) for other in same), len(same)))
    return tuple(ranks)


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


def midi_at(place: Place, tuning: Tuning) -> int:
    """MIDI number of what sounds at a place."""
    return tuning.strings[place.string] + place.semitones


def pitch_at(place: Place, key: Key | None, tuning: Tuning) -> Pitch:
    """What sounds at a place, spelled as the key has it, else with the letter of the finger.

    A letter that would take two signs is not used: a high first finger on the E string is G.
    """
    midi = midi_at(place, tuning)
    usual = spell(midi, key)
    in_key = alters_of(key)[usual.letter] == usual.alter
    if in_key or place_on(place.string, usual, tuning) == place:
        return usual
    octave, letter = divmod(_open_step(tuning.strings[place.string]) + place.finger, len(LETTERS))
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
