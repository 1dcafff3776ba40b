"""Histories run under many trial parameters at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.bayes import EXACT, Rule
from tunememory.memory.parameters import Parameters, side_by_side
from tunememory.memory.start import Entry, first_beliefs
from tunememory.memory.update import EventRows, advance, event_rows

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.memory.arrays import Bools, Floats, Ints
    from tunememory.memory.events import Event

_BLOCK = 4000
"""Rows advanced together, so that the nodes of one strand stay in the cache."""


class Track:
    """Histories of T tunes, laid out so that the k-th events of many tunes run together."""

    def __init__(self, entries: Sequence[Entry], histories: Sequence[Sequence[Event]]) -> None:
        if len(entries) != len(histories):
            raise ValueError(f"{len(entries)} tunes but {len(histories)} histories")
        self._entries = entries
        self._length = np.array([len(history) for history in histories], dtype=np.int64)
        self._columns = max((max(e.columns, default=-1) + 1 for e in entries), default=0)
        self._begin = np.concatenate([[0], np.cumsum(self._length)])
        self._tune = np.repeat(np.arange(len(entries)), self._length)
        self._events = event_rows([e for history in histories for e in history], self._columns)

    def run(
        self,
        candidates: Sequence[Parameters],
        player: Ints,
        since: Floats | None = None,
        until: Floats | None = None,
        tunes: Ints | None = None,
        rule: Rule = EXACT,
    ) -> Iterator[tuple[Ints, Floats, Ints]]:
        """Foretell every event under several parameters.

        Args:
            candidates: M for each player, those of player 0 first.
            player: (T,) owner of each tune, from 0.
            since: For each player, day before which levels count for nothing.
            until: For each player, day from which on levels count for nothing.
            tunes: Which tunes; all when ``None``.
            rule: How to work out expectations.

        Yields:
            For some tunes all their events that count, N of them: the tune of each (N,), log
            chance of its levels (N, M), and how many levels it had (N,).
        """
        if not len(self._length):
            return
        players = int(player.max()) + 1
        many = len(candidates) // players
        begin_at = np.full(players, -np.inf) if since is None else since
        end_at = np.full(players, np.inf) if until is None else until
        at, owner = self._events.at, player[self._tune]
        counts = (at >= begin_at[owner]) & (at < end_at[owner])
        length = self._needed(counts)
        chosen = np.arange(len(length)) if tunes is None else tunes
        chosen = chosen[np.argsort(-length[chosen], kind="stable")]
        all_parameters = side_by_side(candidates)
        block = max(_BLOCK // many, 1)
        for begin in range(0, len(chosen), block):
            some = chosen[begin : begin + block]
            which = (player[some][:, None] * many + np.arange(many)).ravel()
            params = all_parameters.of_rows(which)
            event, found, rated = self._block(some, length[some], params, many, rule)
            kept = counts[event]
            yield self._tune[event[kept]], found[kept], rated[kept]

    def sample(self, player: Ints, events: int) -> Ints | None:
        """Return tunes that make up about so many events of each player, short and long alike.

        Args:
            player: (T,) owner of each tune, from 0.
            events: How many events of a player are enough.

        Returns:
            Indices of tunes; ``None`` if that would be most of them.
        """
        chosen = []
        for own in (np.flatnonzero(player == p) for p in np.unique(player)):
            step = max(int(self._length[own].sum()) // max(events, 1), 1)
            chosen.append(own[np.argsort(self._length[own], kind="stable")][step // 2 :: step])
        found = np.concatenate(chosen) if chosen else player
        return found if 2 * self._length[found].sum() <= self._length.sum() else None

    def _needed(self, counts: Bools) -> Ints:
        """(T,) how many events of each tune come up to the last that counts."""
        length = np.zeros_like(self._length)
        place = np.arange(len(counts)) - self._begin[self._tune]
        np.maximum.at(length, self._tune[counts], place[counts] + 1)
        return length

    def _block(
        self, tunes: Ints, length: Ints, params: Parameters, many: int, rule: Rule
    ) -> tuple[Ints, Floats, Ints]:
        # Candidates lie next to each other within a tune: the tunes that still have a k-th
        # event are then the first rows, as views.
        beliefs = first_beliefs([self._entries[t] for t in tunes for _ in range(many)], params)
        columns = beliefs.mean.shape[1]
        event, found, rated = [tunes[:0]], [np.zeros((0, many))], [tunes[:0]]
        for k in range(int(length[0])):
            active = int(np.searchsorted(-length, -k, side="left"))
            now = self._begin[tunes[:active]] + k
            own = params.of_rows(slice(0, active * many))
            rows = self._rows(np.repeat(now, many), columns)
            said = advance(beliefs.first(active * many), rows, own, rule)
            levels = ~np.isnan(said.likelihood)
            each = np.log(np.where(levels, said.likelihood, 1.0)).sum(axis=1)
            event.append(now)
            found.append(each.reshape(active, many))
            rated.append(levels[::many].sum(axis=1))
        return np.concatenate(event), np.concatenate(found), np.concatenate(rated)

    def _rows(self, index: Ints, columns: int) -> EventRows:
        every = self._events
        return EventRows(
            at=every.at[index],
            day=every.day[index],
            level=every.level[index, :columns],
            exposed=every.exposed[index, :columns],
            minutes=every.minutes[index],
        )
