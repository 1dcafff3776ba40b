"""Working out in advance what the first screen will say on the next days.

Nothing is drawn by chance and what is remembered fades in a known way, so tomorrow's plan is known
today unless something is asked or changed in between, and then the file drops what was prepared.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from tunememory.service.errors import ServiceError
from tunememory.service.spent import checks_between
from tunememory.service.today_text import made_as, to_text
from tunememory.store.errors import RepertoireError
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from tunememory.service.desk import Desk

DAYS_AHEAD = 3
"""Days prepared beside the present one: a player who misses two still finds the third."""


def prepare(desk: Desk) -> bool:
    """Keep in the file what the first screen says now and on the next days.

    Nothing is done where today and tomorrow are prepared already.

    Returns:
        Whether they are prepared. A file that cannot be written, or that another window is
        writing, is none: it costs the next start a little time and nothing else.
    """
    repertoire = desk.repertoire
    if repertoire.readonly:
        return False
    today = desk.day()
    form = made_as(desk.clock)
    try:
        if {today, today + timedelta(days=1)} <= repertoire.prepared_days(form).keys():
            return True
        if desk.changed_elsewhere():
            desk.reload()
        views = {day: to_text(desk.as_at(at).today()) for day, at in _moments(desk)}
        return repertoire.save_prepared_days(views, form)
    except (RepertoireError, ServiceError):
        return False


def reading(desk: Desk) -> Iterator[Callable[[], object]]:
    """Return in small pieces the reading that the first screen and a round wait for."""
    yield lambda: desk.tunes
    yield lambda: desk.last_met
    yield lambda: desk.remembered
    yield desk.remembered.all


def _moments(desk: Desk) -> Iterator[tuple[date, datetime]]:
    """Yield the present day and the next ones, each with the moment its first screen is for.

    That of the present day is now. On the others the player is expected at the hour of this
    day's first round, or at this hour where there was none.
    """
    now, today = desk.now(), desk.day()
    yield today, now
    first = [c for c in checks_between(desk, today, today) if c.round_kind is RoundKind.FIRST]
    usual = (first[0].at if first else now).astimezone(desk.clock.zone)
    for ahead in range(1, DAYS_AHEAD + 1):
        # Counted by the clock on the wall, as practice days are.
        at = (usual + timedelta(days=ahead)).astimezone(UTC)
        yield desk.day_of(at), at
