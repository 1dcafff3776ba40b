"""Spelled pitches and notes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction


LETTERS = "CDEFGAB"
"""Natural note letters in the order of the octave."""

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
"""Semitones of each natural letter above C."""

SIGNS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
"""Semitones of each accidental sign of ABC 2.1 (4.2)."""

SIGN_OF = {alter: sign for sign, alter in SIGNS.items()}
"""The sign of each accidental."""

MIDI_NUMBERS = range(128)
"""What MIDI 1.0 has numbers for; middle C is 60."""


@dataclass(frozen=True, slots=True, order=True)
class Pitch:
    """A spelled pitch.

    Attributes:
        octave: Scientific octave; middle C is C4 (MIDI 60).
        letter: One of ``LETTERS``.
        alter: Semitones of the accidental, -2 to 2.
    """

    octave: int
    letter: str
    alter: int = 0

    @property
    def midi(self) -> int:
        """MIDI note number (60 is middle C)."""
        return 12 * (self.octave + 1) + SEMITONES[self.letter] + self.alter

    @property
    def step(self) -> int:
        """Diatonic number, 7 an octave (C4 is 28); the place on a staff."""
        return 7 * self.octave + LETTERS.index(self.letter)


@dataclass(frozen=True, slots=True)
class Note:
    """One melody note of a start.

    Attributes:
        pitch: What sounds.
        quarters: Length in quarter notes, positive. Ties are merged and a rest lengthens the
            note before it, so lengths add up to bars.
    """

    pitch: Pitch
    quarters: Fraction
