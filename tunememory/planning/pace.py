"""How long a check takes this player."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from tunememory.planning.standing import Pace

if TYPE_CHECKING:
    from collections.abc import Sequence

_PRIOR_CHECKS = 20
_LONGEST_SECONDS = 90.0
_SHORTEST_SECONDS = 3.0


def measured_pace(how_seconds: Sequence[float], what_seconds: Sequence[float]) -> Pace:
    """Return the player's pace from measured seconds, level key to level key, newest only.

    The median is drawn towards the default as long as there are few checks, so that one slow
    evening does not shrink tomorrow's round. Longer than a minute and a half, the player was
    called away; such a check counts as that long.
    """
    default = Pace()
    return Pace(_drawn(how_seconds, default.how), _drawn(what_seconds, default.what))


def _drawn(seconds: Sequence[float], default: float) -> float:
    if not seconds:
        return default
    middle = median(min(max(s, _SHORTEST_SECONDS), _LONGEST_SECONDS) for s in seconds)
    weight = len(seconds) / (len(seconds) + _PRIOR_CHECKS)
    return weight * middle + (1.0 - weight) * default
