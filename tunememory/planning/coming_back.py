"""After time away: the surest tunes first, at the usual daily number, no mountain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

GAP_DAYS = 21
"""More days than this without a check is time away (common practice, no source)."""

RETURN_DAYS = 60
"""Days after the return during which tunes not yet met again are brought surest first."""


def returned_on(days: Sequence[int], today: int) -> int | None:
    """Return the day ordinal on which the player came back, or ``None`` when not coming back.

    Args:
        days: Ordinals of the practice days with checks, ascending, none after ``today``.
        today: Ordinal of the present practice day; a return today has no checks yet.
    """
    earlier = [day for day in days if day < today]
    if not earlier:
        return None
    if today - earlier[-1] > GAP_DAYS:
        return today
    for before, after in zip(reversed(earlier[:-1]), reversed(earlier[1:]), strict=True):
        if today - after > RETURN_DAYS:
            return None
        if after - before > GAP_DAYS:
            return after
    return None


def not_met_since(last_met: NDArray[np.float64], returned: float) -> NDArray[np.bool_]:
    """Return which tunes were met before the break but not since ``returned`` (model days)."""
    return np.isfinite(last_met) & (last_met < returned)
