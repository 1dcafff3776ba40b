"""Notes cut at the bar lines, with ties where a note is held over one."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.metre import bar_quarters

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.tunes.pitch import Note, Pitch


@dataclass(frozen=True, slots=True)
class Piece:
    """A note, or what of it falls within one bar.

    Attributes:
        pitch: What sounds.
        quarters: Length in quarter notes.
        at: Place in the bar in quarter notes; a pickup ends where the bar would.
        held: It goes on from the bar before.
        tied: It goes on in the next bar.
    """

    pitch: Pitch
    quarters: Fraction
    at: Fraction
    held: bool = False
    tied: bool = False

    @property
    def whole(self) -> bool:
        """Whether it is a note by itself."""
        return not (self.held or self.tied)


@dataclass(frozen=True, slots=True)
class CutBar:
    """One bar of pieces; ``closed`` when it is filled, so that a bar line stands after it."""

    pieces: tuple[Piece, ...]
    closed: bool


def cut_bars(notes: Sequence[Note], pickup: Fraction, metre: str) -> list[CutBar]:
    """Cut notes into the bars of a metre.

    Args:
        notes: Melody notes.
        pickup: Quarter notes before the first bar line; less than a bar, else there is none.
        metre: As in ABC ``M:``; free or unknown metre is one open bar.
    """
    bar = bar_quarters(metre)
    at = bar - pickup if bar is not None and 0 < pickup < bar else Fraction(0)
    bars: list[CutBar] = []
    pieces: list[Piece] = []
    for note in notes:
        left, held = note.quarters, False
        while left > 0:
            length = left if bar is None else min(left, bar - at)
            left -= length
            pieces.append(Piece(note.pitch, length, at, held, left > 0))
            at += length
            held = True
            if at == bar:
                bars.append(CutBar(tuple(pieces), closed=True))
                pieces, at = [], Fraction(0)
    if pieces:
        bars.append(CutBar(tuple(pieces), closed=False))
    return bars
