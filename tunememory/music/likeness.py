"""How alike two starts begin, whatever their key and metre; of many, those that are twins.

Two starts are aligned (Needleman and Wunsch 1970) by the cost of turning one into the other, in
bars: leaving a note out costs three quarters of its length, a wrong pitch up to the whole of it,
a wrong length about a third of the difference (weights after Mongeau and Sankoff 1990, tuned on
published folk-song families). The distance is that cost over the length of both.

One pair is aligned note by note, which tells where the two part (``compare``). Of many starts
``Openings`` first drops the pairs that sums over their notes tell apart, then aligns the rest side
by side; ``LikenessIndex`` measures what that leaves.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.music.metre import usual_bar

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from tunememory.music.key import Key
    from tunememory.music.tune import Start, Tune

    Floats = NDArray[np.float32]
    Numbers = NDArray[np.intp]


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
    bar = _plain(usual_bar(start.metre_in(metre)))
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


def _common_length(one: float, other: float) -> float | None:
    """Length in bars to which two openings are cut before they are compared.

    ``None`` when both are written out in full: then nothing is cut, a pickup may make one longer.
    """
    return None if min(one, other) >= FULL_BARS else min(one, other)


def compare(one: Opening, other: Opening) -> Parting:
    """Align two openings; where one is written out further, only as far as the shorter goes."""
    length = _common_length(one.length, other.length)
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


@dataclass(frozen=True, slots=True)
class Alike:
    """Two starts of different tunes that begin alike.

    Attributes:
        tune: Identity of the tune asked about.
        part: Its part.
        other: Identity of the twin.
        other_part: The twin's part.
        distance: 0 for the same notes; see ``compare``.
        parts_at: 1-based number of the note of ``part`` where they part, 0 if they do not as far
            as both are written.
        other_parts_at: The same in the other's start.
    """

    tune: str
    part: str
    other: str
    other_part: str
    distance: float
    parts_at: int
    other_parts_at: int


@dataclass(frozen=True, slots=True)
class _Start:
    tune: str
    part: str
    opening: Opening


class LikenessIndex:
    """The starts of a repertoire, ready to be compared. It is never changed, only replaced."""

    def __init__(self, tunes: Iterable[Tune]) -> None:
        """Prepare every start that has a key and enough notes (``opening_of``)."""
        self._lay_out({tune.uuid: _starts_of(tune) for tune in tunes})

    def _lay_out(self, by_tune: dict[str, tuple[_Start, ...]]) -> None:
        self._by_tune = by_tune
        self._starts = [start for starts in by_tune.values() for start in starts]
        self._lengths = [_length_class(start.opening) for start in self._starts]
        self._views: dict[tuple[float, bool], Openings] = {}

    def changed(self, tune: Tune) -> LikenessIndex:
        """Return the index with ``tune`` added, or in place of its earlier self."""
        index = LikenessIndex(())
        index._lay_out(self._by_tune | {tune.uuid: _starts_of(tune)})
        return index

    def twins_of(self, tune: Tune) -> tuple[Alike, ...]:
        """Return every start of another tune that begins like one of ``tune``, nearest first.

        ``tune`` itself need not be in the index.
        """
        found: list[Alike] = []
        for start in _starts_of(tune):
            own = _length_class(start.opening)
            numbers = self._near(start.opening, own, longer=True)
            for shorter in sorted({length for length in self._lengths if length < own}):
                numbers += self._near(start.opening.cut(shorter), shorter, longer=False)
            found += (
                alike
                for other in (self._starts[number] for number in numbers)
                if other.tune != tune.uuid and (alike := _measured(start, other))
            )
        return tuple(
            sorted(found, key=lambda alike: (alike.distance, alike.part, alike.other_part))
        )

    def all_pairs(self) -> Iterator[Alike]:
        """Yield every pair of twins once.

        Work is done as the pairs are taken, so a caller may stop between them.
        """
        for length in sorted(set(self._lengths)):
            same = self._view(length, longer=False)
            for one, other in itertools.chain(same.near(same, limit_of(length)), self._cut(length)):
                start, twin = self._starts[one], self._starts[other]
                if start.tune != twin.tune and (alike := _measured(start, twin)):
                    yield alike

    def _cut(self, length: float) -> Iterator[tuple[int, int]]:
        """Pairs of a start of this length and a longer one."""
        if length < FULL_BARS:
            same, longer = (self._view(length, longer=longer) for longer in (False, True))
            for one, other in same.near(longer, limit_of(length)):
                if self._lengths[other] > length:
                    yield one, other

    def _near(self, opening: Opening, length: float, *, longer: bool) -> list[int]:
        view = self._view(length, longer=longer)
        return [number for _, number in Openings([opening], [0]).near(view, limit_of(length))]

    def _view(self, length: float, *, longer: bool) -> Openings:
        """Starts of one length, and with ``longer`` those of longer ones cut to it.

        A short start is compared as far as it goes; all that are written out in full count as
        of one length and are not cut.
        """
        if (length, longer) not in self._views:
            numbers = [
                number
                for number, other in enumerate(self._lengths)
                if other == length or (longer and other > length)
            ]
            openings = [self._starts[number].opening for number in numbers]
            if length < FULL_BARS:
                openings = [opening.cut(length) for opening in openings]
            self._views[length, longer] = Openings(openings, numbers)
        return self._views[length, longer]


def _measured(start: _Start, other: _Start) -> Alike | None:
    """The exact distance of two starts, where it is within the limit."""
    parting = compare(start.opening, other.opening)
    if parting.distance > limit_of(min(start.opening.length, other.opening.length)):
        return None
    return Alike(
        start.tune,
        start.part,
        other.tune,
        other.part,
        parting.distance,
        parting.first,
        parting.second,
    )


def _starts_of(tune: Tune) -> tuple[_Start, ...]:
    return tuple(
        _Start(tune.uuid, start.part, opening)
        for start in tune.starts
        if (opening := opening_of(start, tune.key, tune.metre)) is not None
    )


def _length_class(opening: Opening) -> float:
    """Length in bars, the same for all that are written out in full."""
    return min(round(opening.length, 6), FULL_BARS)


def parting(note: int) -> str:
    """Return where two starts part.

    Args:
        note: Number of the first note that differs, from 1 on; 0 when none does as far as both
            are written.

    >>> parting(5), parting(1), parting(0)
    ('they part at note 5', 'alike after the first note', 'alike as far as they are written')
    """
    if note == 0:
        return "alike as far as they are written"
    return "alike after the first note" if note == 1 else f"they part at note {note}"
