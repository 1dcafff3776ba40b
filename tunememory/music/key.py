"""Root, mode and key signature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.music.pitch import SEMITONES

if TYPE_CHECKING:
    from collections.abc import Mapping


MODES = ("major", "minor", "mixolydian", "dorian", "phrygian", "lydian", "locrian")
"""The modes of ABC 2.1, section 3.1.14 (ionian is major, aeolian is minor)."""

_SHARP_ORDER = "FCGDAEB"
_FIFTHS_OF_MAJOR = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_FIFTHS_BELOW_MAJOR = {
    "major": 0, "mixolydian": 1, "dorian": 2, "minor": 3, "phrygian": 4, "locrian": 5, "lydian": -1,
}  # fmt: skip
_SHORT = {"major": "", "minor": "m", "mixolydian": "mix", "dorian": "dor", "phrygian": "phr",
          "lydian": "lyd", "locrian": "loc"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Key:
    """The root of a tune and its mode.

    Attributes:
        root: Tonic as letter and accidental: ``"A"``, ``"Bb"``, ``"F#"``.
        mode: One of ``MODES``.
        changes: Accidentals that differ from the signature of root and mode, as
            ``(letter, alter)`` pairs in alphabetic order (``K:D Phr ^f`` gives ``(("F", 1),)``).
    """

    root: str
    mode: str = "major"
    changes: tuple[tuple[str, int], ...] = ()

    @property
    def root_class(self) -> int:
        """Pitch class of the root, 0 (C) to 11 (B)."""
        return (SEMITONES[self.root[0]] + _accidental(self.root[1:])) % 12

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) of root and mode, changes left out."""
        major = _FIFTHS_OF_MAJOR[self.root[0]] + 7 * _accidental(self.root[1:])
        return major - _FIFTHS_BELOW_MAJOR[self.mode]

    def alters(self) -> dict[str, int]:
        """Accidental of each letter in the signature; naturals are 0."""
        fifths = self.fifths
        signature = dict.fromkeys("CDEFGAB", 0)
        for place in range(abs(fifths)):
            letter = _SHARP_ORDER[place % 7] if fifths > 0 else _SHARP_ORDER[6 - place % 7]
            signature[letter] += 1 if fifths > 0 else -1
        signature.update(self.changes)
        return signature

    @property
    def short(self) -> str:
        """As players write it: ``"A"``, ``"Em"``, ``"Amix"``, ``"Bbdor"``."""
        return self.root + _SHORT[self.mode]

    @property
    def name(self) -> str:
        """In full: ``"A mixolydian"``, ``"E minor"``."""
        return f"{self.root} {self.mode}"


def _accidental(signs: str) -> int:
    return signs.count("#") - signs.count("b")


USUAL_MODES = ("major", "minor", "dorian", "mixolydian")
"""Modes of dance music: all but a few of 4,435 printed tunes are in one of these."""

MOST = 7
"""Sharps or flats a signature can have."""

_FIFTHS_BELOW = {mode: -Key("C", mode).fifths for mode in MODES}
_CIRCLE = "FCGDAEB"


def key_of_signature(fifths: int, mode: str) -> Key:
    """Return the key of a mode that has a signature.

    Args:
        fifths: Sharps, or flats as a negative number.
        mode: One of ``MODES``.

    >>> key_of_signature(2, "minor").short, key_of_signature(-2, "major").short
    ('Bm', 'Bb')
    """
    sign, place = divmod(fifths + _FIFTHS_BELOW[mode] + 1, 7)
    return Key(_CIRCLE[place] + ("#" * sign if sign > 0 else "b" * -sign), mode)


def fifths_of(alters: Mapping[str, int]) -> int | None:
    """Return the sharps (flats negative) of a signature; ``None`` where it is no usual one."""
    fifths = sum(alters.values())
    usual = abs(fifths) <= MOST and dict(alters) == key_of_signature(fifths, "major").alters()
    return fifths if usual else None
