"""What we believe of a tune before it was ever asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.belief import TuneBelief
from tunememory.tunes.tune import Declared

if TYPE_CHECKING:
    from collections.abc import Iterable

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
    wanted = sorted(set(columns))
    size = wanted[-1] + 1 if wanted else 0
    present = np.zeros(size, dtype=np.bool_)
    present[wanted] = True
    mean = np.zeros(size)
    for column in wanted:
        mean[column] = params.declared_mean(declared) + params.strand_mean(column)
    own = params.strand_sd**2
    shared = max(params.declared_sd**2 - own, 0.0)
    both = np.outer(present, present)
    cov = np.where(both, shared, 0.0) + np.diag(np.where(present, own, 0.0))
    return TuneBelief(
        mean=mean,
        cov=cov,
        exposed_at=np.where(present, added_at - SINCE_PLAYED[declared], np.nan),
        gained_day=np.zeros(size, dtype=np.int64),
        gains=np.zeros(size, dtype=np.int64),
        checks=np.zeros(size, dtype=np.int64),
        present=present,
    )
