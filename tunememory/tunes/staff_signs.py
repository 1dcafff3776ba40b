"""What stands on the staff for a start: heads, stems, flags, beams, bar lines, in order.

Rules of engraving that any primer of notation gives: stems point up below the middle line, notes
shorter than a quarter are beamed by beats, three in the time of two carry a 3.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.bars import cut_bars
from tunememory.tunes.metre import group_quarters
from tunememory.tunes.spelling import alters_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from tunememory.tunes.bars import Piece
    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Note, Pitch

MIDDLE = 34
"""Staff place of the middle line, B4 (``Pitch.step``)."""

_WHOLE = Fraction(4)
_VALUES = tuple(
    (dotted, plain, dots)
    for plain in (_WHOLE / 2**power for power in range(6))
    for dotted, dots in ((plain * 7 / 4, 2), (plain * 3 / 2, 1), (plain, 0))
)
"""Lengths that one note can have, in quarters: with its dots, without, number of dots."""

_TRIPLET = Fraction(2, 3)


@dataclass(slots=True)
class Head:
    """One note head.

    Attributes:
        note: Number of the note in the start.
        pitch: Where it stands.
        sign: Semitones of the accidental written before it, ``None`` for none.
        value: Length without dots in quarters: 4 is a whole note, 1/2 an eighth.
        dots: Number of dots.
        tied: A tie leads to the next head.
        first: It begins its note (a note may need several tied heads).
        triplet: One of three in the time of two.
    """

    note: int
    pitch: Pitch
    sign: int | None
    value: Fraction
    dots: int
    tied: bool
    first: bool
    triplet: bool = False

    @property
    def flags(self) -> int:
        """Flags or beams of its stem: 0 for a quarter and longer."""
        flags = 0
        value = self.value
        while value < 1:
            value *= 2
            flags += 1
        return flags


@dataclass(slots=True)
class Group:
    """Heads that one beam joins, or a single head."""

    heads: list[Head] = field(default_factory=list)

    @property
    def up(self) -> bool:
        """Whether the stems point up: when the note farthest from the middle is below it."""
        steps = [head.pitch.step for head in self.heads]
        return MIDDLE - min(steps) > max(steps) - MIDDLE


@dataclass(frozen=True, slots=True)
class Measure:
    """The groups of one bar; ``closed`` when a bar line stands after them."""

    groups: tuple[Group, ...]
    closed: bool


def measures_of(
    notes: Sequence[Note], pickup: Fraction, key: Key | None, metre: str
) -> tuple[Measure, ...]:
    """Set a start in notes as they are written.

    An accidental holds to the end of its bar on its own line or space, and is written again only
    where it changes; in another octave it is written too, and so is the natural after it.
    """
    measures = []
    number = -1
    for bar in cut_bars(notes, pickup, metre):
        signs = _Signs(alters_of(key))
        heads: list[tuple[Fraction, Head]] = []
        for piece in bar.pieces:
            number += not piece.held
            heads.extend(_heads(piece, number, signs))
        measures.append(Measure(tuple(_groups(heads, group_quarters(metre))), bar.closed))
    return tuple(measures)


class _Signs:
    """The accidentals written in a bar so far."""

    def __init__(self, key: Mapping[str, int]) -> None:
        self._key = key
        self._places: dict[int, int] = {}
        self._letters: dict[str, int] = {}

    def before(self, pitch: Pitch) -> int | None:
        """The accidental to write before a note, ``None`` for none."""
        signature = self._key[pitch.letter]
        told = {
            self._places.get(pitch.step, signature),
            self._letters.get(pitch.letter, signature),
        }
        if told == {pitch.alter}:
            return None
        self._places[pitch.step] = self._letters[pitch.letter] = pitch.alter
        return pitch.alter


def _heads(piece: Piece, number: int, signs: _Signs) -> Iterator[tuple[Fraction, Head]]:
    """Heads that together last as long as the piece, each with its place in the bar."""
    sign = None if piece.held else signs.before(piece.pitch)
    left, at, first = piece.quarters, piece.at, not piece.held
    triplet = left.denominator % 3 == 0
    if triplet:
        left /= _TRIPLET
    while left > 0:
        length, value, dots = next(
            (found for found in _VALUES if found[0] <= left), (left, _VALUES[-1][1], 0)
        )
        left -= length
        yield (
            at,
            Head(number, piece.pitch, sign, value, dots, left > 0 or piece.tied, first, triplet),
        )
        at += length * _TRIPLET if triplet else length
        sign, first = None, False


def _groups(heads: Sequence[tuple[Fraction, Head]], beat: Fraction) -> Iterator[Group]:
    """Join neighbours shorter than a quarter that begin in the same beat."""
    group = Group()
    group_beat = -1
    for at, head in heads:
        joins = (
            group.heads
            and head.flags
            and group.heads[-1].flags
            and at // beat == group_beat
            and head.triplet == group.heads[-1].triplet
        )
        if not joins:
            if group.heads:
                yield group
            group, group_beat = Group(), at // beat
        group.heads.append(head)
    if group.heads:
        yield group
