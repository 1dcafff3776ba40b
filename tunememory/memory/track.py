"""Histories run under many trial parameters at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.parameters import Parameters, side_by_side
from tunememory.memory.start import Entry, first_beliefs
from tunememory.memory.update import EventRows, advance, event_rows

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.memory.arrays import Floats, Ints
    from tunememory.memory.events import Event

_BLOCK = 1500
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
        self._events = event_rows([e for history in histories for e in history], self._columns)

    def run(
        self,
        candidates: Sequence[Parameters],
        player: Ints,
        since: Floats | None = None,
        until: Floats | None = None,
        tunes: Ints | None = None,
    ) -> Iterator[tuple[Ints, Floats, Floats, Ints]]:
        """Foretell every event under several parameters.

        Args:
            candidates: M for each player, those of player 0 first.
            player: (T,) owner of each tune, from 0.
            since: For each player, day before which levels count for nothing.
            until: For each player, day from which on levels count for nothing.
            tunes: Which tunes; all when ``None``.

        Yields:
            For some A tunes, one event each: the tunes (A,), when (A,), log chance of the
            levels that came (A, M), and how many levels there were (A,).
        """
        chosen = np.arange(len(self._length)) if tunes is None else tunes
        chosen = chosen[np.argsort(-self._length[chosen], kind="stable")]
        if not len(chosen):
            return
        players = int(player.max()) + 1
        many = len(candidates) // players
        begin_at = np.full(players, -np.inf) if since is None else since
        end_at = np.full(players, np.inf) if until is None else until
        all_parameters = side_by_side(candidates)
        block = max(_BLOCK // many, 1)
        for begin in range(0, len(chosen), block):
            some = chosen[begin : begin + block]
            which = (player[some][:, None] * many + np.arange(many)).ravel()
            whose = player[some]
            window = (begin_at[whose], end_at[whose])
            yield from self._block(some, all_parameters.of_rows(which), many, window)

    def _block(
        self, tunes: Ints, params: Parameters, many: int, window: tuple[Floats, Floats]
    ) -> Iterator[tuple[Ints, Floats, Floats, Ints]]:
        # Candidates lie next to each other within a tune: the tunes that still have a k-th
        # event are then the first rows, as views.
        beliefs = first_beliefs([self._entries[t] for t in tunes for _ in range(many)], params)
        columns = beliefs.mean.shape[1]
        length = self._length[tunes]
        for k in range(int(length[0])):
            active = int(np.searchsorted(-length, -k, side="left"))
            now = self._begin[tunes[:active]] + k
            rows = self._rows(np.repeat(now, many), columns)
            own = params.of_rows(slice(0, active * many))
            said = advance(beliefs.first(active * many), rows, own)
            found = np.log(np.where(np.isnan(said.likelihood), 1.0, said.likelihood)).sum(axis=1)
            at = self._events.at[now]
            counts = (at >= window[0][:active]) & (at < window[1][:active])
            rated = (~np.isnan(said.likelihood[::many])).sum(axis=1) * counts
            yield tunes[:active], at, found.reshape(active, many) * counts[:, None], rated

    def _rows(self, index: Ints, columns: int) -> EventRows:
        every = self._events
        return EventRows(
            at=every.at[index],
            day=every.day[index],
            level=every.level[index, :columns],
            exposed=every.exposed[index, :columns],
            minutes=every.minutes[index],
        )
