"""Many openings against many at once: which pairs may lie within a distance.

The alignment is that of ``alike``. Lower bounds of its cost are looked at first, then the tables
of costs are worked out for all pairs that are left together, a row for each note of the one; what
has become too dear in every place is dropped on the way. No pair within the distance is lost.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from tunememory.tunes.alike import GAP, LENGTH, PITCH_SPAN

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tunememory.tunes.alike import Opening

    Floats = NDArray[np.float32]
    Numbers = NDArray[np.intp]

_FILLER = 16.0
"""Length of the places after the last note, in bars: too dear to be aligned with anything."""

_SLACK = np.float32(1e-3)
"""Bars of cost by which single precision may err."""

_RAMPS = (5, 9, 2, -2, 7, 11)
_TENTS = (1 / 8, 1 / 6)
"""Of many bounds of both kinds (``_bounds``) those that told most starts of the printed
collections apart when taken one after the other."""

_WIDTHS = (10, 12, 14, 16, 20, 28)
"""Pairs are aligned in blocks of up to so many notes, so that few places are filler."""

_UNTELLING = 3
"""So many rows of the table drop too few pairs to be worth looking at."""

_TOGETHER = 48
"""Openings taken against all others in one go: enough to keep numpy busy, few enough for the
tables to stay in the processor's cache."""


class Openings:
    """Many openings as arrays, those of few notes first.

    Attributes:
        numbers: The caller's number of each row.
    """

    def __init__(self, openings: Sequence[Opening], numbers: Sequence[int]) -> None:
        """Lay out ``openings``, known to the caller by ``numbers``."""
        counts = np.array([len(opening.pitches) for opening in openings], dtype=np.intp)
        order = np.argsort(counts, kind="stable")
        ordered = [openings[row] for row in order]
        self.numbers = np.array(numbers, dtype=np.intp)[order]
        self._counts = counts[order]
        filled = np.arange(int(counts.max(initial=0))) < self._counts[:, None]
        pitches = np.zeros(filled.shape, dtype=np.float32)
        pitches[filled] = [pitch for opening in ordered for pitch in opening.pitches]
        bars = np.full(filled.shape, _FILLER, dtype=np.float32)
        bars[filled] = [length for opening in ordered for length in opening.bars]
        sounding = np.where(filled, bars, np.float32(0))
        self._lengths = sounding.sum(axis=1)
        self._bounds = _bounds(pitches, sounding)
        self._gaps = np.float32(GAP) * bars
        # Few different notes (pitch and length) occur: costs are worked out once for each two.
        notes, codes = np.unique(pitches.ravel() + 1j * bars.ravel(), return_inverse=True)
        self._notes = (notes.real.astype(np.float32), notes.imag.astype(np.float32))
        self._codes: Numbers = codes.reshape(filled.shape)
        # On their side, so that a row of the table is a row of the array.
        self._codes_down = np.ascontiguousarray(self._codes.T)
        self._skipped = np.zeros((filled.shape[1] + 1, len(ordered)), dtype=np.float32)
        np.cumsum(self._gaps.T, axis=0, out=self._skipped[1:])

    def near(self, others: Openings, limit: float) -> Iterator[tuple[int, int]]:
        """Yield pairs of an opening and one of ``others`` that may lie within ``limit``.

        As the caller's numbers. Some that lie just outside may be among them. Compared with
        itself, each pair comes once and none with itself.
        """
        if not (len(self.numbers) and len(others.numbers)):
            return
        costs = _Costs(self._notes, others._notes)
        for first, last in self._batches():
            mine, theirs, dearest = self._worth_aligning(others, limit, first, last)
            left = np.searchsorted(theirs, others._block_ends())
            for begin, end in itertools.pairwise(left.tolist()):
                if end > begin:
                    one, other = mine[begin:end], theirs[begin:end]
                    kept = self._aligned(others, one, other, dearest[begin:end], costs)
                    yield from zip(
                        self.numbers[one[kept]].tolist(),
                        others.numbers[other[kept]].tolist(),
                        strict=True,
                    )

    def _batches(self) -> Iterator[tuple[int, int]]:
        """Ranges of rows with the same number of notes."""
        edges = np.searchsorted(self._counts, np.arange(self._codes.shape[1] + 2))
        for low, high in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
            for first in range(low, high, _TOGETHER):
                yield first, min(first + _TOGETHER, high)

    def _block_ends(self) -> Numbers:
        return np.concatenate(
            [[0], np.searchsorted(self._counts, _WIDTHS, side="right"), [len(self._counts)]]
        )

    def _worth_aligning(
        self, others: Openings, limit: float, first: int, last: int
    ) -> tuple[Numbers, Numbers, Floats]:
        """Pairs of rows that the bounds leave, by rows of the others, and the cost allowed."""
        lengths = others._lengths[:, None] + self._lengths[first:last]
        dearest = np.float32(limit) * lengths + _SLACK
        left = np.abs(others._bounds[0][:, None] - self._bounds[0][first:last]) <= dearest
        if others is self:
            left &= np.arange(len(left))[:, None] > np.arange(first, last)
        theirs, mine = np.nonzero(left)
        dearest = dearest[left]
        mine += first
        for own, bound in zip(self._bounds[1:], others._bounds[1:], strict=True):
            # Each bound looks only at what the ones before have left.
            kept = np.abs(bound[theirs] - own[mine]) <= dearest
            mine, theirs, dearest = mine[kept], theirs[kept], dearest[kept]
        return mine, theirs, dearest

    def _aligned(
        self, others: Openings, mine: Numbers, theirs: Numbers, dearest: Floats, costs: _Costs
    ) -> Numbers:
        """Places of the pairs whose alignment costs no more than ``dearest``.

        A row of the table holds the cost of aligning my notes so far with each beginning of the
        other, less the cost of leaving that whole beginning out; so leaving out more notes of the
        other is the running minimum.
        """
        width = int(others._counts[theirs[-1]])
        codes = others._codes_down[:width].take(theirs, axis=1)
        skipped = others._skipped[: width + 1].take(theirs, axis=1)
        row = np.zeros_like(skipped)
        pairs = np.arange(len(mine))
        for number in range(int(self._counts[mine[0]])):
            paired = costs.of_pairs(self._codes[mine, number], codes)
            paired += row[:-1]
            row += self._gaps[mine, number]
            np.minimum(row[1:], paired, out=row[1:])
            for place in range(1, width + 1):
                np.minimum(row[place], row[place - 1], out=row[place])
            if number < _UNTELLING:
                continue
            total = np.add(row, skipped, out=costs.room(row.shape))
            kept = np.flatnonzero(total.min(axis=0) <= dearest[pairs])
            if len(kept) < 0.9 * len(pairs):
                pairs, mine = pairs[kept], mine[kept]
                codes = codes.take(kept, axis=1)
                skipped = skipped.take(kept, axis=1)
                row = row.take(kept, axis=1)
            if not len(pairs):
                return pairs
        ends = others._counts[theirs[pairs]], np.arange(len(pairs))
        return pairs[row[ends] + skipped[ends] <= dearest[pairs]]


class _Costs:
    """Cost of pairing each note of some openings with each of others, less leaving that out.

    Also the room the tables are worked out in: asking the system for it each time would take
    longer than the work.
    """

    def __init__(self, mine: tuple[Floats, Floats], theirs: tuple[Floats, Floats]) -> None:
        pitches, bars = (values[:, None] for values in mine)
        wrong = np.minimum(np.abs(pitches - theirs[0]), PITCH_SPAN) / PITCH_SPAN
        costs = wrong * np.minimum(bars, theirs[1]) + LENGTH * np.abs(bars - theirs[1])
        costs -= GAP * theirs[1]
        self._width = costs.shape[1]
        self._costs = costs.astype(np.float32).ravel()
        self._places = np.empty(0, dtype=np.intp)
        self._room = np.empty(0, dtype=np.float32)

    def room(self, shape: tuple[int, ...]) -> Floats:
        """An array with anything in it, good until the next call."""
        size = int(np.prod(shape))
        if size > self._room.size:
            self._room = np.empty(size, dtype=np.float32)
            self._places = np.empty(size, dtype=np.intp)
        return self._room[:size].reshape(shape)

    def of_pairs(self, mine: Numbers, theirs: Numbers) -> Floats:
        """Costs of my note of each column with their notes in it, good until the next call."""
        costs = self.room(theirs.shape)
        places = self._places[: theirs.size].reshape(theirs.shape)
        np.add(theirs, mine * self._width, out=places)
        return np.take(self._costs, places, out=costs, mode="clip")


def _bounds(pitches: Floats, bars: Floats) -> Floats:
    """Sums over the notes of each row that bound the cost of an alignment from below.

    Each is a sum of ``f(pitch, length)`` with ``f`` so flat that exchanging one note for another,
    or leaving it out, changes the sum by no more than it costs. So two openings whose sums differ
    by more than a cost cannot be aligned for it. One row a bound, one column an opening.
    """
    # Ramps over the pitch: slope 1 / PITCH_SPAN, ends at LENGTH (which is below GAP).
    ramps = [
        (np.clip((pitches - centre) / PITCH_SPAN, -LENGTH, LENGTH) * bars).sum(axis=1)
        for centre in _RAMPS
    ]
    # Tents over the length: slope LENGTH.
    tents = [LENGTH * np.maximum(top - np.abs(bars - top), 0).sum(axis=1) for top in _TENTS]
    return np.array([ramps[0], tents[0], *ramps[1:], tents[1]], dtype=np.float32)
