"""Starts typed as string and finger, or string and fret."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.tunes.entry_signs import EntryError, Sign, read_signs
from tunememory.tunes.places import SET, Place, pitch_at
from tunememory.tunes.spelling import spell

if TYPE_CHECKING:
    from collections.abc import Callable

    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Pitch
    from tunememory.tunes.tuning import Tuning

_HIGHEST_MIDI = 127
_STRING = r"(?:(?P<level>low|middle|high)\s+)?(?P<letter>[A-G])(?P<sign>[#♯♭]?)(?P<commas>,*):?"
_FINGER = re.compile(
    rf"{_STRING}|(?P<place>(?P<mark>low\s*|high\s*|[LH])?(?P<number>[0-4])(?!\d))", re.IGNORECASE
)
_FINGER_WANTED = "a string or finger; write for example A1, D3, E low 2 or EL2, fingers 0 to 4"
_FRET = re.compile(rf"{_STRING}|(?P<place>(?P<number>\d{{1,2}})(?!\d))", re.IGNORECASE)
_FRET_WANTED = "a string or fret; write for example d2 or a0"

_SEMITONES = {(how[:1], finger): semitones for (finger, semitones), how in SET.items()} | {
    ("h", 2): 4
}
"""Place of each finger in semitones above the open string; ``places.SET`` the other way round."""

_FLATS = {"B♭": "A#", "E♭": "D#", "A♭": "G#", "D♭": "C#", "G♭": "F#"}

ONLY_FINGERS = re.compile(r"\b(?:low|high)\b|[A-Ga-g],*\s*[LH][1-4]|[A-Ga-g],*0")
"""What no other form has: low and high, L and H, an open string."""


def read_fingers(text: str, key: Key | None, tuning: Tuning) -> list[Sign]:
    """Read strings and fingers: ``A1 D3 E low 2 DL2 D0``; a string holds until the next one.

    A plain finger is the place ``places.SET`` gives it, ``L`` or ``low`` sets it a semitone
    lower, ``H`` or ``high`` higher; a plain second finger is a high one already.

    Raises:
        EntryError: At the first sign that is none; a string that the tuning has not.
    """

    def pitch_on(string: int, found: re.Match[str]) -> Pitch:
        finger = int(found["number"])
        semitones = _SEMITONES.get(((found["mark"] or "")[:1].lower(), finger))
        if semitones is None:
            raise EntryError(
                f"{_here(found)} is neither low nor high; write a plain 0 for the open string"
            )
        return pitch_at(Place(string, semitones, finger), key, tuning)

    return _read(text, _FINGER, _FINGER_WANTED, pitch_on, tuning)


def read_frets(text: str, key: Key | None, tuning: Tuning) -> list[Sign]:
    """Read strings and fret numbers: ``d2 a0``; a string holds until the next one.

    Raises:
        EntryError: At the first sign that is none; a string that the tuning has not.
    """

    def pitch_on(string: int, found: re.Match[str]) -> Pitch:
        return spell(tuning.strings[string] + int(found["number"]), key)

    return _read(text, _FRET, _FRET_WANTED, pitch_on, tuning)


def _read(
    text: str,
    pattern: re.Pattern[str],
    wanted: str,
    pitch_on: Callable[[int, re.Match[str]], Pitch],
    tuning: Tuning,
) -> list[Sign]:
    string: int | None = None
    waiting: re.Match[str] | None = None

    def pitch_of(found: re.Match[str]) -> Pitch | None:
        nonlocal string, waiting
        if found["letter"]:
            if waiting is not None:
                raise EntryError(_no_finger(waiting))
            waiting = found
            string = _string(found, tuning)
            return None
        waiting = None
        if string is None:
            raise EntryError(
                f"{_here(found)} names no string; write it first, "
                f"such as {tuning.string_names[-1]}{found[0]}"
            )
        pitch = pitch_on(string, found)
        if pitch.midi > _HIGHEST_MIDI:
            raise EntryError(f"{_here(found)} is too high to be written; take a lower place")
        return pitch

    signs = read_signs(text, pattern, pitch_of, wanted)
    if waiting is not None:
        raise EntryError(_no_finger(waiting))
    return signs


def _here(found: re.Match[str]) -> str:
    return f"“{found[0].strip()}” at place {found.start() + 1}"


def _no_finger(found: re.Match[str]) -> str:
    return f"{_here(found)} is a string alone; write where it is stopped, such as {found[0]}0"


def _string(found: re.Match[str], tuning: Tuning) -> int:
    letter = found["letter"].upper() + found["sign"].replace("♯", "#")
    name = f"{(found['level'] or '').lower()} {_FLATS.get(letter, letter)}{found['commas']}".strip()
    string = _strings_by_name(tuning).get(name)
    if string is None:
        raise EntryError(
            f"{_here(found)} is no string here; the strings are {' '.join(tuning.string_names)}"
        )
    return string


@lru_cache(maxsize=64)
def _strings_by_name(tuning: Tuning) -> dict[str, int]:
    """Every name of each string: ``A``, ``A,``, ``low A``; for a letter used once, any of them."""
    names: dict[str, int] = {}
    for string, (short, long) in enumerate(
        zip(tuning.string_names, tuning.long_string_names, strict=True)
    ):
        names[short] = names[long] = string
        if short == long:
            names |= {f"{level} {short}": string for level in ("low", "high")}
    return names
