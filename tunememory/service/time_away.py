"""A player who was away for long: since when back, and what is not said of the time between."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from tunememory.clock import to_days
from tunememory.planning.coming_back import RETURN_DAYS, returned_on
from tunememory.service.views import State

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import Chance


def returned(desk: OpenFile) -> float | None:
    """Model day of the player's return from time away, or ``None``."""
    days = desk.kept_today("practice days", lambda: _days_before(desk))
    back = returned_on(days, desk.day().toordinal())
    if back is None:
        return None
    return to_days(datetime.combine(date.fromordinal(back), time(), tzinfo=UTC))


def not_lost_by_time(chance: Chance, back: float | None) -> Chance:
    """Return a chance that is not called lost for time alone.

    After time away a tune not met since is unknown rather than lost, and comes back sooner than
    it was learned: it is called rusty until it was asked. Its figures stay as they are.

    Args:
        chance: Of a tune or strand.
        back: The day of the return (``returned``).
    """
    if chance.state is not State.LOST or back is None or chance.last_checked is None:
        return chance
    met_since = to_days(chance.last_checked) >= back
    return chance if met_since else replace(chance, state=State.RUSTY)


def _days_before(desk: OpenFile) -> list[int]:
    """Ordinals of the practice days that a return from time away shows by; today's is no part."""
    since = desk.now() - timedelta(days=RETURN_DAYS + 1)
    return [past.toordinal() for past in desk.repertoire.practice_days(since)]
