"""Tunes of few parts apart from those of many, so that a few long ones do not slow all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.belief import Beliefs

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

USUAL_COLUMNS = 6
"""Key, name and four parts: nearly every tune."""


def in_blocks(
    beliefs: Beliefs, count: int, work: Callable[[Beliefs], tuple[NDArray[np.float64], ...]]
) -> tuple[NDArray[np.float64], ...]:
    """Return what ``work`` gives for all tunes, (T, F) arrays with nan where there is no strand.

    Args:
        beliefs: T tunes, F columns.
        count: How many arrays ``work`` gives.
        work: Works strand by strand on any number of tunes and columns.
    """
    columns = beliefs.mean.shape[1]
    if columns <= USUAL_COLUMNS:
        return work(beliefs)
    long = np.asarray(beliefs.present[:, USUAL_COLUMNS:].any(axis=1))
    whole = tuple(np.full(beliefs.mean.shape, np.nan) for _ in range(count))
    for rows, width in ((~long, USUAL_COLUMNS), (long, columns)):
        if rows.any():
            for all_tunes, block in zip(whole, work(_cut(beliefs, rows, width)), strict=True):
                all_tunes[rows, :width] = block
    return whole


def _cut(beliefs: Beliefs, rows: NDArray[np.bool_], width: int) -> Beliefs:
    return Beliefs(
        mean=beliefs.mean[rows, :width],
        cov=beliefs.cov[rows, :width, :width],
        exposed_at=beliefs.exposed_at[rows, :width],
        gained_day=beliefs.gained_day[rows, :width],
        gains=beliefs.gains[rows, :width],
        checks=beliefs.checks[rows, :width],
        present=beliefs.present[rows, :width],
    )
