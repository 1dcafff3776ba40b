"""The dates and days off of the open repertoire: what is coming, and when nothing is asked."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, TypeVar

from tunememory.dates import recurrence
from tunememory.dates.recurrence import occurrences, parse_rule, playing_days
from tunememory.errors import NotDoneError
from tunememory.session import About, Memo

if TYPE_CHECKING:
    from tunememory.session import Session
    from tunememory.store.records import Date, DayOff


Dated = TypeVar("Dated", "Date", "DayOff")


def _with_rule(dated: Dated) -> Dated:
    """Return a date or days off without a rule that cannot be read.

    A file that another program has written into must not keep the whole day from being shown.
    """
    if not dated.rule:
        return dated
    try:
        next(parse_rule(dated.rule).days(dated.first_day, date.max), None)
    except NotDoneError:
        return replace(dated, rule="")
    return dated


dates_of = Memo(
    lambda session: {one.uuid: _with_rule(one) for one in session.repertoire.dates.all()},
    About.TUNES | About.SETS,
)
"""Every date by identity; one whose rule cannot be read stands on its first day."""

days_off_of = Memo(
    lambda session: [*map(_with_rule, session.repertoire.days_off.all())], About.SETS
)
"""Every stretch of days off; one whose rule cannot be read is its first days alone."""

_coming = Memo(
    lambda session: recurrence.coming(dates_of(session).values(), session.day()),
    About.TUNES | About.SETS,
    daily=True,
)


def date_of(session: Session, uuid: str) -> Date:
    """Return a date.

    Raises:
        NotDoneError: It is gone.
    """
    try:
        return dates_of(session)[uuid]
    except KeyError:
        raise NotDoneError("that date is no longer there") from None


def coming(session: Session, within: int | None = None) -> tuple[tuple[date, Date], ...]:
    """Return every date with its next day from today on, soonest first.

    Args:
        session: The open repertoire.
        within: Only those at most so many days ahead.
    """
    day = session.day()
    found = _coming(session)
    return tuple(pair for pair in found if within is None or (pair[0] - day).days <= within)


def between(session: Session, first_day: date, last_day: date) -> list[tuple[date, str]]:
    """Return day and title of all that takes place from one day to another, both included."""
    return sorted(
        (day, dated.title)
        for dated in dates_of(session).values()
        for day in occurrences(dated, first_day, last_day)
    )


def is_off(session: Session, day: date | None = None) -> bool:
    """Whether nothing is asked on a day (today if none is given)."""
    on = day or session.day()
    return not playing_days(on, on, days_off_of(session))


def is_eve(session: Session) -> bool:
    """Whether a date that is no regular one is tomorrow: the day for heads, not for hands."""
    return recurrence.eve_of_one(dates_of(session).values(), session.day())
