"""Twins: which starts of a repertoire begin alike, all parts against all parts.

Every pair is measured as ``alike.compare`` does; lower bounds of its distance and an early end of
the alignment keep most pairs from being measured in full, and lose none.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.tunes.aligning import Openings
from tunememory.tunes.alike import FULL_BARS, Opening, compare, limit_of, opening_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tunememory.tunes.tune import Tune


@dataclass(frozen=True, slots=True)
class Alike:
    """Two starts of different tunes that begin alike.

    Attributes:
        tune: Identity of the tune asked about.
        part: Its part.
        other: Identity of the twin.
        other_part: The twin's part.
        distance: 0 for the same notes; see ``alike.compare``.
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
        """Prepare every start that has a key and enough notes (``alike.opening_of``)."""
        self._lay_out({tune.uuid: _starts_of(tune) for tune in tunes})

    def _lay_out(self, by_tune: dict[str, tuple[_Start, ...]]) -> None:
        self._by_tune = by_tune
        self._starts = [start for starts in by_tune.values() for start in starts]
        self._lengths = [_length_class(start.opening) for start in self._starts]
        self._views: dict[tuple[float, bool], Openings] = {}

    def changed(self, tune: Tune) -> LikenessIndex:
        """Return the index with ``tune`` added, or in place of its earlier self."""
        return self._with(self._by_tune | {tune.uuid: _starts_of(tune)})

    def without(self, uuid: str) -> LikenessIndex:
        """Return the index without one tune."""
        return self._with({tune: of for tune, of in self._by_tune.items() if tune != uuid})

    def _with(self, by_tune: dict[str, tuple[_Start, ...]]) -> LikenessIndex:
        index = LikenessIndex(())
        index._lay_out(by_tune)
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
