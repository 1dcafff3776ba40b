"""What we believe of a tune before it was ever asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.belief import Beliefs, TuneBelief
from tunememory.memory.columns import FIRST_START_COLUMN, NAME_COLUMN
from tunememory.tunes.tune import Declared

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tunememory.memory.parameters import Parameters

SINCE_PLAYED = {
    Declared.NEW: 0.0,
    Declared.LEARNING: 1.0,
    Declared.KNOWN: 10.0,
    Declared.OLD_FRIEND: 60.0,
}
"""Days since a tune was last played when it is entered, by the player's word.

A third of the stability that goes with the word, so that a tune "known" but never asked for
stands at about 3 in 4; own choice, no source.
"""

_WORDS = tuple(SINCE_PLAYED)


@dataclass(frozen=True, slots=True)
class Entry:
    """A tune as it comes into the repertoire.

    Attributes:
        columns: Columns of the strands it has.
        declared: How well the player says she has it.
        added_at: Days since the epoch.
    """

    columns: tuple[int, ...]
    declared: Declared
    added_at: float


def first_belief(
    columns: Iterable[int], declared: Declared, added_at: float, params: Parameters
) -> TuneBelief:
    """Return the belief about a tune as it comes into the repertoire.

    Args:
        columns: Columns of the strands it has; duplicates are forgiven.
        declared: How well the player says she has it.
        added_at: Days since the epoch.
        params: The player's parameters.
    """
    return first_beliefs([Entry(tuple(columns), declared, added_at)], params).tune(0)


def first_beliefs(entries: Sequence[Entry], params: Parameters) -> Beliefs:
    """Return first beliefs of R tunes side by side; ``params`` may differ by row."""
    rows = len(entries)
    size = max((max(entry.columns, default=-1) + 1 for entry in entries), default=0)
    present = np.zeros((rows, size), dtype=np.bool_)
    for row, entry in enumerate(entries):
        present[row, list(entry.columns)] = True
    word = np.array([_WORDS.index(entry.declared) for entry in entries], dtype=np.int64)
    said = (params.new, params.learning, params.known, params.old_friend)
    tune_mean = params.just_learned + np.choose(word, said) if rows else np.zeros(0)
    strand = np.zeros((size, rows))
    for column in range(size):
        if column >= FIRST_START_COLUMN:
            strand[column] = params.start
        else:
            strand[column] = params.name if column == NAME_COLUMN else params.key
    own = np.broadcast_to(np.square(params.strand_sd), (rows,))
    shared = np.maximum(np.square(params.declared_sd) - own, 0.0)
    cov = np.where(present[:, :, None] & present[:, None, :], shared[:, None, None], 0.0)
    for column in range(size):
        cov[:, column, column] += np.where(present[:, column], own, 0.0)
    since = np.array([entry.added_at - SINCE_PLAYED[entry.declared] for entry in entries])
    shape = (rows, size)
    return Beliefs(
        mean=np.where(present, (tune_mean + strand).T, 0.0),
        cov=cov,
        exposed_at=np.where(present, since[:, None], np.nan),
        gained_day=np.zeros(shape, dtype=np.int64),
        gains=np.zeros(shape, dtype=np.int64),
        checks=np.zeros(shape, dtype=np.int64),
        present=present,
    )
