"""How alike two starts begin, whatever their key and metre: the measure, for one pair.

Two starts are aligned (Needleman and Wunsch 1970) by the cost of turning one into the other, in
bars: leaving a note out costs three quarters of its length, a wrong pitch up to the whole of it,
a wrong length about a third of the difference (weights after Mongeau and Sankoff 1990, tuned on
published folk-song families). The distance is that cost over the length of both.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.metre import bar_quarters

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.tune import Start

GAP = 0.75
"""Cost of leaving out a note, of its length."""

PITCH_SPAN = 5
"""Semitones from which a wrong pitch costs the whole length of the note."""

LENGTH = 0.35
"""Cost of a difference in length, of the difference."""

MOST_ALIKE = 0.10
"""Distance up to which two full starts are twins. Of the starts of O'Neill's numbers that two
people copied out independently 94 % lie below it, of random pairs of starts 1.5 in 10,000."""

FULL_BARS = 1.5
"""Length from which a start counts as written out in full."""

LEAST_NOTES = 6
"""Starts of fewer notes are not compared: too many tunes share them."""

_OPENING_BARS = 2
_MOST_NOTES = 48
_COMMON_BAR = Fraction(4)
_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Opening:
    """A start as it is compared.

    Attributes:
        pitches: Semitones above the root; of its octaves the one nearest to five semitones below
            the mean pitch.
        bars: Length of each note in bars.
        pickup: How many of the notes are pickup.
    """

    pitches: tuple[int, ...]
    bars: tuple[float, ...]
    pickup: int

    @property
    def length(self) -> float:
        """Length in bars."""
        return sum(self.bars)

    def cut(self, bars: float) -> Opening:
        """The opening cut at ``bars``, a note that is cut through made shorter."""
        pitches: list[int] = []
        lengths: list[float] = []
        left = bars
        for pitch, length in zip(self.pitches, self.bars, strict=True):
            if left <= _TINY:
                break
            pitches.append(pitch)
            lengths.append(min(length, left))
            left -= length
        return Opening(tuple(pitches), tuple(lengths), min(self.pickup, len(pitches)))


@dataclass(frozen=True, slots=True)
class Parting:
    """How two starts compare.

    Attributes:
        distance: 0 for the same, about 0.34 for two that have nothing to do with each other.
        first: 1-based number of the first note in the one start that the other does not share;
            0 when they stay together as far as the shorter is written.
        second: The same counted in the other start.
    """

    distance: float
    first: int
    second: int


def opening_of(start: Start, key: Key | None, metre: str) -> Opening | None:
    """Prepare a start: its pickup and two bars.

    Args:
        start: Its own key counts before ``key``.
        key: The tune's key.
        metre: As in ABC ``M:``; free or unknown counts as common time.

    Returns:
        ``None`` where there is nothing to compare: no key, or fewer than ``LEAST_NOTES`` notes.
    """
    key = start.key or key
    if key is None or len(start.notes) < LEAST_NOTES:
        return None
    bar = _plain(bar_quarters(start.metre_in(metre)) or _COMMON_BAR)
    upbeat = _plain(start.pickup) / bar
    end = upbeat + _OPENING_BARS
    midis: list[int] = []
    bars: list[float] = []
    pickup = 0
    at = 0.0
    for note in start.notes[:_MOST_NOTES]:
        if at >= end - _TINY:
            break
        length = _plain(note.quarters) / bar
        midis.append(note.pitch.midi)
        bars.append(min(length, end - at))
        pickup += at < upbeat - _TINY
        at += length
    mean = sum(midi * length for midi, length in zip(midis, bars, strict=True)) / sum(bars)
    tonic = key.root_class + 12 * round((mean - 5 - key.root_class) / 12)
    return Opening(tuple(midi - tonic for midi in midis), tuple(bars), pickup)


def _plain(length: Fraction) -> float:
    # Several times as quick as float(): a repertoire has a hundred thousand notes.
    return length.numerator / length.denominator


def limit_of(bars: float) -> float:
    """Distance up to which starts are twins when the shorter of them is ``bars`` long.

    ``MOST_ALIKE`` for full starts, falling to 0 (the same notes) at half a bar, so that pairs
    that are alike by chance stay about as rare.
    """
    return MOST_ALIKE * min(1.0, max(0.0, (bars - 0.5) / (FULL_BARS - 0.5)))


def common_length(one: float, other: float) -> float | None:
    """Length in bars to which two openings are cut before they are compared.

    ``None`` when both are written out in full: then nothing is cut, a pickup may make one longer.
    """
    return None if min(one, other) >= FULL_BARS else min(one, other)


def compare(one: Opening, other: Opening) -> Parting:
    """Align two openings; where one is written out further, only as far as the shorter goes."""
    length = common_length(one.length, other.length)
    if length is not None:
        one, other = one.cut(length), other.cut(length)
    table = _table(one, other)
    distance = table[-1][-1] / (one.length + other.length)
    return Parting(distance, *_part(table, one, other))


def _substitution(pitch: int, bars: float, other_pitch: int, other_bars: float) -> float:
    wrong = min(abs(pitch - other_pitch), PITCH_SPAN) / PITCH_SPAN
    return wrong * min(bars, other_bars) + LENGTH * abs(bars - other_bars)


def _table(one: Opening, other: Opening) -> list[list[float]]:
    """Cost of aligning each beginning of the one with each beginning of the other."""
    row = [0.0]
    for bars in other.bars:
        row.append(row[-1] + GAP * bars)
    table = [row]
    for pitch, bars in zip(one.pitches, one.bars, strict=True):
        before = table[-1]
        row = [before[0] + GAP * bars]
        for place, (other_pitch, other_bars) in enumerate(
            zip(other.pitches, other.bars, strict=True)
        ):
            row.append(
                min(
                    before[place] + _substitution(pitch, bars, other_pitch, other_bars),
                    before[place + 1] + GAP * bars,
                    row[place] + GAP * other_bars,
                )
            )
        table.append(row)
    return table


def _part(table: Sequence[Sequence[float]], one: Opening, other: Opening) -> tuple[int, int]:
    """Numbers of the first notes that the alignment does not pair with the same pitch.

    A pickup that only one of them has does not part them.
    """
    pairs: list[tuple[int, int, bool]] = []
    i, j = len(one.pitches), len(other.pitches)
    while i or j:
        here = table[i][j]
        if i and j:
            cost = _substitution(
                one.pitches[i - 1], one.bars[i - 1], other.pitches[j - 1], other.bars[j - 1]
            )
            if abs(table[i - 1][j - 1] + cost - here) < _TINY:
                i, j = i - 1, j - 1
                pairs.append((i, j, one.pitches[i] == other.pitches[j]))
                continue
        if i and abs(table[i - 1][j] + GAP * one.bars[i - 1] - here) < _TINY:
            i -= 1
            pairs.append((i, j, i < one.pickup and j == 0))
        else:
            j -= 1
            pairs.append((i, j, j < other.pickup and i == 0))
    for i, j, same in reversed(pairs):
        if not same:
            return min(i + 1, len(one.pitches)), min(j + 1, len(other.pitches))
    return 0, 0
