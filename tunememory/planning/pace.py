"""How long a check takes this player."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from tunememory.planning.standing import Pace

if TYPE_CHECKING:
    from collections.abc import Sequence

READING_SECONDS = 4.0
"""From "I have it" to the level key: looking at the start and judging (own choice)."""

_PRIOR_CHECKS = 20
_LONGEST_SECONDS = 60.0


def measured_pace(how_seconds: Sequence[float], what_seconds: Sequence[float]) -> Pace:
    """Return the player's pace from measured seconds to "I have it", newest checks only.

    The median is drawn towards the default as long as there are few checks, so that one slow
    evening does not shrink tomorrow's round. Times over a minute count as a minute: the player
    was called away.
    """
    default = Pace()
    return Pace(_drawn(how_seconds, default.how), _drawn(what_seconds, default.what))


def _drawn(seconds: Sequence[float], default: float) -> float:
    if not seconds:
        return default
    middle = median(min(max(s, 0.0), _LONGEST_SECONDS) for s in seconds) + READING_SECONDS
    weight = len(seconds) / (len(seconds) + _PRIOR_CHECKS)
    return weight * middle + (1.0 - weight) * default
