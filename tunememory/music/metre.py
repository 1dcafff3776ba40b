"""Metre, bars and unit note length: ``M:`` and ``L:`` of ABC 2.1 (3.1.6, 3.1.7)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.music.pitch import Note, Pitch


_FRACTION = re.compile(r"\(?(\d{1,3}(?:\+\d{1,3})*)\)?/(\d{1,3})")
_UNIT = re.compile(r"(\d{1,4})(?:/(\d{1,4}))?")
# Whole notes in a bar; anything else is a slip of the pen, not a metre.
_SHORTEST, _LONGEST = Fraction(1, 16), Fraction(16)
_COMPOUND = frozenset({6, 9, 12})
_COMMON = Fraction(4)

_OF_KIND = {
    "reel": "C|", "breakdown": "C|", "hoedown": "C|", "hornpipe": "C|", "barndance": "C|",
    "barn dance": "C|", "schottische": "C", "fling": "C", "strathspey": "C", "polka": "2/4",
    "two step": "2/4", "jig": "6/8", "single jig": "6/8", "double jig": "6/8", "slip jig": "9/8",
    "hop jig": "9/8", "slide": "12/8", "waltz": "3/4", "mazurka": "3/4", "varsovienne": "3/4",
    "minuet": "3/4",
}  # fmt: skip


def metre_of_kind(kind: str) -> str:
    """Metre of a kind of dance that has one; empty for marches, airs and what is not known.

    Common practice, no source.
    """
    return _OF_KIND.get(kind.casefold(), "")


@lru_cache(maxsize=256)
def whole_notes(metre: str) -> Fraction | None:
    """Length of a bar as a fraction of a whole note; ``None`` when the metre is free or unknown.

    >>> whole_notes("6/8"), whole_notes("C|"), whole_notes("(2+3+2)/8"), whole_notes("none")
    (Fraction(3, 4), Fraction(1, 1), Fraction(7, 8), None)
    """
    if "".join(metre.split()).upper() in {"C", "C|"}:
        return Fraction(1)
    count, unit = _counted(metre)
    if not count or not unit:
        return None
    whole = Fraction(count, unit)
    return whole if _SHORTEST <= whole <= _LONGEST else None


def _counted(metre: str) -> tuple[int, int]:
    """How many notes make a bar and which: 6 and 8 for 6/8; zeros where it is no fraction."""
    found = _FRACTION.fullmatch("".join(metre.split()))
    return (sum(map(int, found[1].split("+"))), int(found[2])) if found else (0, 0)


@lru_cache(maxsize=256)
def bar_quarters(metre: str) -> Fraction | None:
    """Length of a bar in quarter notes; ``None`` when the metre is free or unknown."""
    whole = whole_notes(metre)
    return None if whole is None else 4 * whole


def usual_bar(metre: str) -> Fraction:
    """Length of a bar in quarter notes; that of common time when the metre is free or unknown."""
    return bar_quarters(metre) or _COMMON


@lru_cache(maxsize=256)
def is_compound(metre: str) -> bool:
    """Whether beats fall in threes: 6/8, 9/8, 12/8 and their like."""
    return _counted(metre)[0] in _COMPOUND


def group_quarters(metre: str) -> Fraction:
    """Length in quarter notes by which notes are grouped in text.

    Half a bar of four quarters, a beat of a compound metre, else a quarter: as tune books print
    them. Common practice, no source.
    """
    if not is_compound(metre):
        return Fraction(2 if whole_notes(metre) == 1 else 1)
    return Fraction(12, _counted(metre)[1])


def default_unit(metre: str) -> Fraction:
    """Unit note length where there is no ``L:`` field, of a whole note (ABC 2.1, 3.1.7).

    A sixteenth for metres under three quarters, an eighth for all others and for free metre.
    """
    whole = whole_notes(metre)
    return Fraction(1, 16) if whole is not None and whole < Fraction(3, 4) else Fraction(1, 8)


def unit_length(text: str) -> Fraction | None:
    """Read an ``L:`` field (ABC 2.1, 3.1.7): a fraction of a whole note, or ``None``.

    >>> unit_length("1/8"), unit_length("1"), unit_length("8")
    (Fraction(1, 8), Fraction(1, 1), None)
    """
    found = _UNIT.fullmatch("".join(text.split()))
    if found is None:
        return None
    top, bottom = int(found[1]), int(found[2] or 1)
    return Fraction(top, bottom) if 0 < top <= bottom <= 1024 else None


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
