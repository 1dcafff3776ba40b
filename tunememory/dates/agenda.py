"""Working backwards from dates: how much a tune that is wanted there weighs today.

Most load in the days before, none on the day: players' and performing arts medicine's advice
(Horvath, Playing (Less) Hurt, 2010: ease off the day before and the day of a performance). On the
day before the round is as long as ever but in the head (``is_eve``), so it eases the hands and
still asks what is wanted tomorrow. The sizes are our own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from tunememory.dates import recurrence
from tunememory.dates.recurrence import last_occurrence, next_occurrence, parse_rule, tunes_of
from tunememory.errors import NotDoneError
from tunememory.session import About, Memo

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from tunememory.history.joins import Join
    from tunememory.session import Session
    from tunememory.store.records import Date, DayOff, TuneSet


# ruff: noqa: PLC0415 - a player without dates loads nothing of them


HEAVY_DAYS = 7
"""The week before, in which a date's tunes come first."""

RISING_DAYS = 21
"""From so many days before they begin to come forward."""

HEAVY = 3.0
REGULAR = 1.5
"""What a tune weighs in the week before, against 1 for any other: for a date by itself, and for
a regular one, which comes round within two weeks and whose tunes would else never give way. Those
come forward on the day itself too (common practice, no source)."""

_ROUND_DAYS = 14

FULL_DAYS = 5
"""For so many days before a date the whole round is its own, the day before included."""

EARLY_LOAD = 1 / 3
"""Share of a round from ``RISING_DAYS`` on until then. Both chosen on simulated players: at 12
prompts a day for 20 tunes more days or more of them cost the other tunes and won little."""

ASKED_AFTER_DAYS = 3
"""For so many days after a date it is asked what was played there."""


def load(days_before: int) -> float:
    """Return the largest share of a day's prompts that goes to a date so many days ahead.

    All in the last days, none on the day, a third in the weeks before, none earlier.
    """
    if days_before <= 0 or days_before > RISING_DAYS:
        return 0.0
    return 1.0 if days_before <= FULL_DAYS else EARLY_LOAD


def factor(days_before: int | None, *, regular: bool = False) -> float:
    """Return what a tune weighs so many days before its date, against 1 for any other.

    Args:
        days_before: 0 on the day; ``None`` when none is coming.
        regular: Whether the date comes round within two weeks.
    """
    if days_before is None or days_before > RISING_DAYS:
        return 1.0
    if days_before <= 0 and not regular:
        return 0.0
    heavy = REGULAR if regular else HEAVY
    if days_before <= HEAVY_DAYS:
        return heavy
    return 1.0 + (heavy - 1.0) * (RISING_DAYS - days_before) / (RISING_DAYS - HEAVY_DAYS)


def date_weights(
    uuids: Sequence[str], dates: Iterable[Date], sets: Mapping[str, TuneSet], day: date
) -> NDArray[np.float64]:
    """Return what each tune weighs in the plan of ``day`` because of the dates coming.

    Of several dates the one that makes it heaviest counts, but what a date that is no regular one
    wants today is spared whatever comes later.

    Args:
        uuids: T tunes.
        dates: All dates.
        sets: Sets by identity.
        day: The practice day.

    Returns:
        (T,) factors, 0 or more; 1 for a tune no date wants.

    Raises:
        ValueError: The rule of a date cannot be read.
    """
    weights: dict[str, float] = {}
    for uuid, before, regular in _named(dates, sets, day):
        own, known = factor(before, regular=regular), weights.get(uuid, 1.0)
        weights[uuid] = max(known, own) if known and own else 0.0
    return np.array([weights.get(uuid, 1.0) for uuid in uuids])


def days_until(
    uuids: Sequence[str], dates: Iterable[Date], sets: Mapping[str, TuneSet], day: date
) -> NDArray[np.float64]:
    """Return in how many days each tune is named for a date that is no regular one.

    Arguments and errors as for ``date_weights``.

    Returns:
        (T,) days, 1 to ``RISING_DAYS``, of the soonest; nan for none.
    """
    soonest: dict[str, int] = {}
    for uuid, before, regular in _named(dates, sets, day):
        if 1 <= before <= RISING_DAYS and not regular:
            soonest[uuid] = min(soonest.get(uuid, RISING_DAYS), before)
    return np.array([soonest.get(uuid, np.nan) for uuid in uuids], dtype=float)


def eve_of_one(dates: Iterable[Date], day: date) -> bool:
    """Whether a date that is no regular one is tomorrow: the day for heads, not for hands.

    Raises:
        ValueError: The rule of a date cannot be read.
    """
    tomorrow = day + timedelta(days=1)
    return any(
        next_occurrence(dated, tomorrow) == tomorrow and not _is_regular(dated, tomorrow)
        for dated in dates
    )


@dataclass(frozen=True, slots=True)
class Past:
    """A date that has been.

    Attributes:
        on: Its day.
        date: The date.
        tunes: Its tunes, those of its sets included.
    """

    on: date
    date: Date
    tunes: tuple[str, ...]


def to_ask_about(
    dates: Iterable[Date],
    sets: Mapping[str, TuneSet],
    day: date,
    answered: Iterable[tuple[str, date]],
) -> tuple[Past, ...]:
    """Return the dates of the last days of which it is not said yet what was played there.

    The latest first. The day itself counts once it is over, so from the next day on.

    Args:
        dates: All dates.
        sets: Sets by identity.
        day: The practice day.
        answered: Identity and day of every date that was answered, or waved away.

    Raises:
        ValueError: The rule of a date cannot be read.
    """
    done = set(answered)
    found = []
    for dated in dates:
        on = last_occurrence(dated, day)
        if on is not None and (day - on).days <= ASKED_AFTER_DAYS and (dated.uuid, on) not in done:
            found.append(Past(on, dated, tunes_of(dated, sets)))
    return tuple(sorted(found, key=lambda past: (-past.on.toordinal(), past.date.title)))


def _named(
    dates: Iterable[Date], sets: Mapping[str, TuneSet], day: date
) -> Iterator[tuple[str, int, bool]]:
    """Give each tune that a date names: identity, days until it falls next, whether regular."""
    for dated in dates:
        on = next_occurrence(dated, day)
        if on is not None:
            regular = _is_regular(dated, on)
            for uuid in tunes_of(dated, sets):
                yield uuid, (on - day).days, regular


def _is_regular(dated: Date, on: date) -> bool:
    """Whether a date that falls on a day comes round within two weeks of it."""
    if not dated.rule:
        return False
    after = next_occurrence(dated, on + timedelta(days=1))
    return after is not None and (after - on).days <= _ROUND_DAYS


Made = TypeVar("Made")
Dated = TypeVar("Dated", "Date", "DayOff")


def coming(session: Session, within: int | None = None) -> tuple[tuple[date, Date], ...]:
    """Return every date with its next day from today on, soonest first.

    Args:
        session: The open repertoire.
        within: Only those at most so many days ahead.
    """
    if not dates_of(session):
        return ()
    day = session.day()
    found = _coming_dates(session)
    return tuple(pair for pair in found if within is None or (pair[0] - day).days <= within)


def between(session: Session, first_day: date, last_day: date) -> list[tuple[date, str]]:
    """Return day and title of all that takes place from one day to another, both included."""
    if not dates_of(session):
        return []
    from tunememory.dates.recurrence import occurrences

    found = [
        (day, dated.title)
        for dated in dates_of(session).values()
        for day in readable(partial(occurrences, dated, first_day, last_day))
    ]
    return sorted(found)


def awake(session: Session) -> frozenset[str]:
    """Return the tunes that must not rest today: a date is near, or its season has come."""
    if not dates_of(session):
        return frozenset()
    from tunememory.dates.recurrence import tunes_of

    day = session.day()
    needed: set[str] = set()
    for on, dated in coming(session):
        ahead = timedelta(weeks=dated.weeks_before) if dated.weeks_before else None
        if on - day <= (ahead or timedelta(days=RISING_DAYS)):
            needed.update(tunes_of(dated, session.sets))
    return frozenset(needed)


def weights(
    session: Session, uuids: Sequence[str], joins: Sequence[Join]
) -> NDArray[np.float64] | None:
    """Return what tunes and joins weigh today because of dates, ``None`` for all the same.

    A join weighs what the tune it leads to weighs, as far as a date wants its set.

    Args:
        session: The open repertoire.
        uuids: T identities, the joins last.
        joins: The joins.
    """
    if not dates_of(session):
        return None

    tunes = uuids[: len(uuids) - len(joins)]
    rows = (*tunes, *(second for _, second in joins))
    dated: NDArray[np.float64] = readable(
        lambda: date_weights(rows, dates_of(session).values(), session.sets, session.day())
    )
    return dated


def is_off(session: Session, day: date | None = None) -> bool:
    """Whether a day (today if none is given) is off."""
    if not days_off_of(session):
        return False
    on = day or session.day()
    return bool(readable(lambda: recurrence.is_off(on, days_off_of(session))))


def is_eve(session: Session) -> bool:
    """Whether a date that is no regular one is tomorrow."""
    if not dates_of(session):
        return False

    return bool(readable(lambda: eve_of_one(dates_of(session).values(), session.day())))


def _read_coming(session: Session) -> tuple[tuple[date, Date], ...]:
    return readable(lambda: recurrence.coming(dates_of(session).values(), session.day()))


def readable(work: Callable[[], Made]) -> Made:
    """Do something with the rules of dates; one that cannot be read is told in a line.

    Raises:
        NotDoneError: A rule cannot be read.
    """
    try:
        return work()
    except ValueError as error:
        raise NotDoneError(f"a date cannot be read: {error}") from error


def _with_rule(dated: Dated) -> Dated:
    """Return a date or days off without a rule that cannot be read.

    A file that another program has written into must not keep the whole day from being shown.
    """
    if not dated.rule:
        return dated
    try:
        next(parse_rule(dated.rule).days(dated.first_day, date.max), None)
    except ValueError:
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

_coming_dates = Memo(_read_coming, About.TUNES | About.SETS, daily=True)
