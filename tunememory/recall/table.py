"""The beliefs about every tune, a row each, as the file keeps them and the planner takes them."""

from __future__ import annotations

from datetime import UTC, datetime, time
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.recall.belief import blank, first_belief, stack, unpacked
from tunememory.recall.check import KEY, NAME, column_of, strands_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tunememory.music.tune import Declared, Tune
    from tunememory.recall.belief import Beliefs, TuneBelief
    from tunememory.recall.forgetting import Bools
    from tunememory.recall.parameters import Parameters


LEAST_COLUMNS = 1 + max(column_of(strand) for strand in (KEY, NAME, "A"))
"""Key, name and A start are never out of reach, whatever strands the tunes have."""


class BeliefTable:
    """Beliefs by tune. What it hands out stays as it is when a belief is put in.

    Args:
        beliefs: With the identities of the tunes, and at least ``LEAST_COLUMNS`` columns.
    """

    def __init__(self, beliefs: Beliefs) -> None:
        self._beliefs = beliefs
        self._rows = {tune: row for row, tune in enumerate(beliefs.uuids)}
        self._handed_out = False

    def all(self) -> Beliefs:
        """Beliefs of every tune, in the order they came in."""
        self._handed_out = True
        return self._beliefs

    def some(self, tunes: Iterable[str]) -> Beliefs:
        """Beliefs of some tunes in the order given, with no more columns than they need."""
        rows = np.array([self._rows[tune] for tune in tunes], dtype=np.int64)
        found = self._beliefs.rows(rows)
        return found.cut(max(LEAST_COLUMNS, _width(np.asarray(found.present.any(axis=0)))))

    def of(self, tune: str) -> TuneBelief:
        """Belief of one tune."""
        row = self._rows[tune]
        return self._beliefs.tune(row, _width(self._beliefs.present[row]))

    def put(self, tune: str, belief: TuneBelief) -> None:
        """Set the belief of one tune."""
        self.update({tune: belief})

    def update(self, beliefs: Mapping[str, TuneBelief]) -> None:
        """Set the beliefs of some tunes, those not in the table yet below the others."""
        new = [tune for tune in beliefs if tune not in self._rows]
        columns = max((belief.columns for belief in beliefs.values()), default=0)
        if new or columns > self._beliefs.mean.shape[1]:
            uuids = (*self._beliefs.uuids, *new)
            wider = blank(uuids, max(columns, self._beliefs.mean.shape[1]))
            wider.place(range(len(self._rows)), self._beliefs)
            self._beliefs, self._rows = wider, {tune: row for row, tune in enumerate(uuids)}
        elif self._handed_out:
            self._beliefs = self._beliefs.rows(np.arange(len(self._rows)))
        self._handed_out = False
        self._beliefs.place([self._rows[tune] for tune in beliefs], stack([*beliefs.values()]))


def columns_of(tune: Tune) -> tuple[int, ...]:
    """Model columns of the strands that can be asked of ``tune``."""
    return _columns(strands_of(tune))


@lru_cache(maxsize=256)
def _columns(strands: tuple[str, ...]) -> tuple[int, ...]:
    return tuple(map(column_of, strands))


def each_untouched(tunes: Sequence[Tune], params: Parameters) -> list[TuneBelief]:
    """Belief about each of ``tunes`` before its first check, as ``replay.replay`` takes them."""
    table = BeliefTable(all_untouched(tunes, params))
    return [table.of(tune.uuid) for tune in tunes]


def all_untouched(tunes: Sequence[Tune], params: Parameters) -> Beliefs:
    """Beliefs about ``tunes`` before their first checks."""
    alike: dict[tuple[tuple[int, ...], Declared], list[int]] = {}
    for row, tune in enumerate(tunes):
        alike.setdefault((columns_of(tune), tune.declared), []).append(row)
    firsts = {kind: first_belief(*kind, 0.0, params) for kind in alike}
    columns = max((first.columns for first in firsts.values()), default=0)
    beliefs = blank([tune.uuid for tune in tunes], columns)
    for kind, rows in alike.items():
        beliefs.place(rows, stack([firsts[kind]]))
    added = [to_days(datetime.combine(tune.added, time(12), tzinfo=UTC)) for tune in tunes]
    beliefs.exposed_at[:] += np.array(added).reshape(-1, 1)
    return beliefs


def read_table(
    tunes: Sequence[Tune], stored: Mapping[str, bytes], params: Parameters
) -> tuple[BeliefTable, list[Tune]]:
    """Return the beliefs the file holds, and the tunes that must be replayed.

    A stored belief is used only if it is readable and speaks of the strands the tune has now.
    """
    by_columns: dict[tuple[int, ...], list[int]] = {}
    for row, tune in enumerate(tunes):
        by_columns.setdefault(columns_of(tune), []).append(row)
    width = max((1 + max(columns, default=-1) for columns in by_columns), default=0)
    wanted = np.zeros((len(tunes), max(LEAST_COLUMNS, width)), dtype=np.bool_)
    for columns, rows in by_columns.items():
        wanted[np.ix_(rows, columns)] = True
    uuids = [tune.uuid for tune in tunes]
    beliefs = blank(uuids, wanted.shape[1])
    read = unpacked([stored.get(uuid, b"") for uuid in uuids], beliefs)
    rows = np.flatnonzero(~read | (beliefs.present != wanted).any(axis=1)).tolist()
    missing = [tunes[row] for row in rows]
    beliefs.place(rows, all_untouched(missing, params))
    return BeliefTable(beliefs), missing


def _width(present: Bools) -> int:
    """Columns up to the last that is there."""
    return int(present.nonzero()[0].max(initial=-1)) + 1
