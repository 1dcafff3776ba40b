"""Root, mode and key signature."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.music.pitch import LETTERS, Pitch

if TYPE_CHECKING:
    from collections.abc import Mapping


MODES = ("major", "minor", "mixolydian", "dorian", "phrygian", "lydian", "locrian")
"""The modes of ABC 2.1, section 3.1.14 (ionian is major, aeolian is minor)."""

USUAL_MODES = ("major", "minor", "dorian", "mixolydian")
"""Modes of dance music: all but a few of 4,435 printed tunes are in one of these."""

SHARPS = "FCGDAEB"
"""Letters in the order in which signatures sharpen them; flats come the other way round."""

MOST_SIGNS = 7
"""Sharps or flats a signature can have."""

NO_SIGNS: Mapping[str, int] = dict.fromkeys(LETTERS, 0)
"""The signature where no key is known."""

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
    def tonic(self) -> Pitch:
        """The root in the octave from C4 on."""
        return Pitch(4, self.root[0], self.root.count("#") - self.root.count("b"))

    @property
    def root_class(self) -> int:
        """Pitch class of the root, 0 (C) to 11 (B)."""
        return self.tonic.midi % 12

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) of root and mode, changes left out."""
        major = SHARPS.index(self.root[0]) - 1 + 7 * self.tonic.alter
        return major - _FIFTHS_BELOW_MAJOR[self.mode]

    def alters(self) -> Mapping[str, int]:
        """Accidental of each letter in the signature; naturals are 0."""
        return _alters(self)

    @property
    def short(self) -> str:
        """As players write it: ``"A"``, ``"Em"``, ``"Amix"``, ``"Bbdor"``."""
        return self.root + _SHORT[self.mode]

    @property
    def name(self) -> str:
        """In full: ``"A mixolydian"``, ``"E minor"``."""
        return f"{self.root} {self.mode}"


@lru_cache(maxsize=256)
def _alters(key: Key) -> Mapping[str, int]:
    fifths = key.fifths
    signature = dict(NO_SIGNS)
    for place in range(abs(fifths)):
        letter = SHARPS[place % 7] if fifths > 0 else SHARPS[6 - place % 7]
        signature[letter] += 1 if fifths > 0 else -1
    return signature | dict(key.changes)


def alters_of(key: Key | None) -> Mapping[str, int]:
    """Accidental of each letter in the signature of ``key``; all natural without a key."""
    return NO_SIGNS if key is None else key.alters()


def root_name(letter: str, alter: int) -> str:
    """Return a root as players write it: ``"F#"``, ``"Bb"``."""
    return letter + ("#" * alter if alter > 0 else "b" * -alter)


def key_of_signature(fifths: int, mode: str) -> Key:
    """Return the key of a mode that has a signature.

    Args:
        fifths: Sharps, or flats as a negative number.
        mode: One of ``MODES``.

    >>> key_of_signature(2, "minor").short, key_of_signature(-2, "major").short
    ('Bm', 'Bb')
    """
    sign, place = divmod(fifths + _FIFTHS_BELOW_MAJOR[mode] + 1, 7)
    return Key(root_name(SHARPS[place], sign), mode)


def fifths_of(alters: Mapping[str, int]) -> int | None:
    """Return the sharps (flats negative) of a signature; ``None`` where it is no usual one."""
    fifths = sum(alters.values())
    usual = abs(fifths) <= MOST_SIGNS and dict(alters) == key_of_signature(fifths, "major").alters()
    return fifths if usual else None
