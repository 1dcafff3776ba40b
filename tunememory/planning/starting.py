"""What decides whether a tune can be started."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.columns import KEY_COLUMN, NAME_COLUMN

if TYPE_CHECKING:
    from numpy.typing import NDArray


def opening_columns(chance: NDArray[np.float64], present: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return for each tune the column of the strand that decides whether it can be started.

    A tune can be started when its first part's start comes in the right key, so the weaker of the
    two decides; a tune with neither goes by its name.

    Args:
        chance: (T, F) chances of every strand, nan where there is none.
        present: (T, F) whether the tune has the strand.

    Returns:
        (T,) columns, -1 for a tune with nothing to ask.
    """
    parts = present.copy()
    parts[:, [KEY_COLUMN, NAME_COLUMN]] = False
    first = np.where(parts.any(axis=1), parts.argmax(axis=1), -1)
    by_start = np.where(first >= 0, chance[np.arange(len(chance)), first], np.nan)
    by_key = chance[:, KEY_COLUMN]
    opening = np.where(
        np.nan_to_num(by_key, nan=2.0) < np.nan_to_num(by_start, nan=2.0), KEY_COLUMN, first
    )
    opening = np.where((opening < 0) & present[:, NAME_COLUMN], NAME_COLUMN, opening)
    return opening.astype(np.int64)


def start_chances(chance: NDArray[np.float64], present: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return (T,) chances of starting each tune; 0 where there is nothing to ask.

    Args:
        chance: As for ``opening_columns``.
        present: As for ``opening_columns``.
    """
    opening = opening_columns(chance, present)
    found: NDArray[np.float64] = np.where(
        opening >= 0, chance[np.arange(len(chance)), opening], 0.0
    )
    return found
