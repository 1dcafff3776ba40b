"""What the dates, their sets and the days off mean for today."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from tunememory.service.errors import ServiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    import numpy as np
    from numpy.typing import NDArray

    from tunememory.memory.belief import Beliefs
    from tunememory.planning.date_share import DateGain
    from tunememory.service.joins import Join
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.dates import Date

Made = TypeVar("Made")

# ruff: noqa: PLC0415 - a player without dates loads nothing of them


def coming(desk: OpenFile, within: int | None = None) -> tuple[tuple[date, Date], ...]:
    """Return every date with its next day from today on, soonest first.

    Args:
        desk: The open repertoire.
        within: Only those at most so many days ahead.
    """
    if not desk.dates:
        return ()
    day = desk.day()
    found = desk.kept_today("coming", lambda: _coming(desk, day))
    return tuple(pair for pair in found if within is None or (pair[0] - day).days <= within)


def between(desk: OpenFile, first_day: date, last_day: date) -> list[tuple[date, str]]:
    """Return day and title of all that takes place from one day to another, both included."""
    if not desk.dates:
        return []
    from tunememory.planning.calendar import occurrences

    found = [
        (day, dated.title)
        for dated in desk.dates.values()
        for day in readable(partial(occurrences, dated, first_day, last_day))
    ]
    return sorted(found)


def awake(desk: OpenFile) -> frozenset[str]:
    """Return the tunes that must not rest today: a date is near, or its season has come."""
    if not desk.dates:
        return frozenset()
    from tunememory.planning.calendar import tunes_of
    from tunememory.planning.dates import RISING_DAYS

    day = desk.day()
    needed: set[str] = set()
    for on, dated in coming(desk):
        ahead = timedelta(weeks=dated.weeks_before) if dated.weeks_before else None
        if on - day <= (ahead or timedelta(days=RISING_DAYS)):
            needed.update(tunes_of(dated, desk.sets))
    return frozenset(needed)


def weights(
    desk: OpenFile, uuids: Sequence[str], joins: Sequence[Join]
) -> NDArray[np.float64] | None:
    """Return what tunes and joins weigh today because of dates, ``None`` for all the same.

    A join weighs what the tune it leads to weighs, as far as a date wants its set.

    Args:
        desk: The open repertoire.
        uuids: T identities, the joins last.
        joins: The joins.
    """
    if not desk.dates:
        return None
    from tunememory.planning.dates import date_weights

    tunes = uuids[: len(uuids) - len(joins)]
    rows = (*tunes, *(second for _, second in joins))
    dated: NDArray[np.float64] = readable(
        lambda: date_weights(rows, desk.dates.values(), desk.sets, desk.day())
    )
    return dated


def date_gain(
    desk: OpenFile, uuids: Sequence[str], joins: Sequence[Join], beliefs: Beliefs
) -> DateGain | None:
    """Return what asking now does for the dates near, ``None`` where there are no dates.

    A date names a join when it names the tune the join leads to.

    Args:
        desk: The open repertoire.
        uuids: T identities, the joins last.
        joins: The joins.
        beliefs: T beliefs in that order.
    """
    if not desk.dates:
        return None
    from tunememory.planning import date_share
    from tunememory.planning.dates import days_until

    rows = (*uuids[: len(uuids) - len(joins)], *(second for _, second in joins))
    until = readable(lambda: days_until(rows, desk.dates.values(), desk.sets, desk.day()))
    return date_share.date_gain(beliefs, desk.now_days(), desk.params, until)


def is_off(desk: OpenFile, day: date | None = None) -> bool:
    """Whether a day (today if none is given) is off."""
    if not desk.days_off:
        return False
    from tunememory.planning import calendar

    on = day or desk.day()
    return bool(readable(lambda: calendar.is_off(on, desk.days_off)))


def is_eve(desk: OpenFile) -> bool:
    """Whether a date that is no regular one is tomorrow."""
    if not desk.dates:
        return False
    from tunememory.planning import dates

    return bool(readable(lambda: dates.is_eve(desk.dates.values(), desk.day())))


def _coming(desk: OpenFile, day: date) -> tuple[tuple[date, Date], ...]:
    from tunememory.planning import calendar

    return readable(lambda: calendar.coming(desk.dates.values(), day))


def readable(work: Callable[[], Made]) -> Made:
    """Do something with the rules of dates; one that cannot be read is told in a line.

    Raises:
        ServiceError: A rule cannot be read.
    """
    try:
        return work()
    except ValueError as error:
        raise ServiceError(f"a date cannot be read: {error}") from error
