"""A year ahead for this player: what so many minutes a day keep."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.forgetting import chance
from tunememory.memory.plausible import plausible
from tunememory.planning.forecast import MORE_MINUTES, MOST_NEW, deciding, forecast
from tunememory.planning.starting import opening_columns
from tunememory.planning.year import Course, Habits
from tunememory.service.errors import ServiceError
from tunememory.service.fitting import uncertainty
from tunememory.service.rounds import pace_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from tunememory.memory.parameters import Parameters
    from tunememory.service.open_file import OpenFile

LIVES = 10
"""Lives that are lived; a range is what 8 of them reach."""

SEED = 1903
"""The same repertoire on the same day has the same forecast."""

HABIT_DAYS = 56
"""Days from which it is seen how often the player practises."""

LEAST_DAYS = 14
"""Days with less history tell nothing of habits; then every day is assumed."""

LONGEST = 120.0
MOST_TUNES = 5_000
"""Bounds of what may be asked."""


@dataclass(frozen=True, slots=True)
class YearPoint:
    """One evening of the year ahead, before any check.

    Attributes:
        day: Days from now.
        tunes: Tunes there are then.
        low: Tunes that would come: lower end of the range.
        middle: The middle.
        high: Upper end.
        sure: Tunes that would come 8 times in 10 or more, the middle.
    """

    day: int
    tunes: int
    low: float
    middle: float
    high: float
    sure: float


@dataclass(frozen=True, slots=True)
class YearAhead:
    """What is to be expected.

    Attributes:
        minutes: Minutes of asking on a day of practice.
        checks: Checks they hold, at the player's pace.
        days: Share of days with practice, as the last weeks were.
        new_a_month: New tunes learned.
        points: The year.
        more_minutes: Minutes added in ``more``.
        more: The end of the year with those minutes more.
        borne: Most new tunes a month with which the average tune still comes 8 times in 10 a
            year from now; ``None`` when it does not even without.
        most_new: More than this was not tried.
    """

    minutes: float
    checks: float
    days: float
    new_a_month: float
    points: tuple[YearPoint, ...]
    more_minutes: float
    more: YearPoint
    borne: int | None
    most_new: int


def year_ahead(
    desk: OpenFile,
    minutes: float,
    tunes: int | None,
    new_a_month: float,
    progress: Callable[[float], None],
) -> YearAhead:
    """Look a year ahead.

    Args:
        desk: The open repertoire.
        minutes: Of asking on a day of practice, above 0.
        tunes: How many tunes; the player's own when ``None``. More than there are: filled up
            with tunes like them.
        new_a_month: New tunes learned each month.
        progress: Told the share done; what it raises ends the work.

    Raises:
        ServiceError: A number is out of its range, or there are no tunes to start from.
    """
    if not 0 < minutes <= LONGEST:
        raise ServiceError(f"minutes can be above 0 and up to {LONGEST:.0f}")
    if not 0 <= new_a_month <= MOST_NEW:
        raise ServiceError(f"new tunes a month can be from 0 to {MOST_NEW}")
    if tunes is not None and not 0 < tunes <= MOST_TUNES:
        raise ServiceError(f"tunes can be from 1 to {MOST_TUNES}")
    rng = np.random.default_rng(SEED)
    at = desk.now_days()
    beliefs = desk.remembered.some([tune.uuid for tune in desk.active()])
    shown = chance(beliefs, at, desk.params)
    now = deciding(beliefs, opening_columns(shown, beliefs.present), tunes, rng)
    if not len(now.mean):
        raise ServiceError("there is no tune yet that can be asked for: add one first")
    pace = pace_of(desk)
    habits = Habits(minutes * 60 / pace.how, _share_of_days(desk), new_a_month)
    more_checks = MORE_MINUTES * 60 / pace.how
    found = forecast(now, at, _lives(desk, rng), habits, more_checks, rng, progress)
    return YearAhead(
        minutes=minutes,
        checks=habits.checks_a_day,
        days=habits.days,
        new_a_month=new_a_month,
        points=_points(found.course),
        more_minutes=MORE_MINUTES,
        more=_points(found.more)[-1],
        borne=found.borne,
        most_new=MOST_NEW,
    )


def sentence(found: YearAhead) -> str:
    """Say it in plain words."""
    first, last = found.points[0], found.points[-1]
    gained = round(found.more.middle) - round(last.middle)
    more = (
        f"{found.more_minutes:.0f} minutes more would keep about {gained} more"
        if gained > 0
        else f"{found.more_minutes:.0f} minutes more would change little"
    )
    if found.borne is None:
        new = "there is no room for new tunes if the average one is to come 8 times in 10"
    elif found.borne == 0:
        new = "there is no room for a new tune every month"
    else:
        many = "or more " if found.borne == found.most_new else ""
        word = "tune" if found.borne == 1 else "tunes"
        new = f"there is room for {found.borne} {many}new {word} a month"
    return (
        f"Of {first.tunes} tunes about {first.middle:.0f} would come tonight; in a year "
        f"about {last.middle:.0f} of {last.tunes} ({last.low:.0f} to {last.high:.0f}). "
        f"{more[0].upper()}{more[1:]}, and {new}."
    )


def assumed(found: YearAhead) -> str:
    """Say what the forecast takes for granted."""
    days = round(7 * found.days)
    minutes = "minute" if found.minutes == 1 else "minutes"
    often = "every day" if days >= 7 else f"{max(1, days)} days a week"
    return (
        f"Taken for granted: {found.minutes:g} {minutes} of cold checks {often} "
        f"({found.checks:.0f} checks), {_new_words(found.new_a_month)}, "
        "and that your memory goes on as we believe it does now."
    )


def _new_words(new_a_month: float) -> str:
    if not new_a_month:
        return "no new tunes"
    return f"{new_a_month:g} new {'tune' if new_a_month == 1 else 'tunes'} a month"


def _points(course: Course) -> tuple[YearPoint, ...]:
    ranges = course.callable.tolist()
    columns = (course.days.tolist(), course.tunes.tolist(), ranges, course.sure[:, 1].tolist())
    return tuple(
        YearPoint(day, tunes, low, middle, high, sure)
        for day, tunes, (low, middle, high), sure in zip(*columns, strict=True)
    )


def _lives(desk: OpenFile, rng: np.random.Generator) -> list[Parameters]:
    known = uncertainty(desk)
    if known is None:
        return plausible(desk.params, LIVES, rng)
    names, covariance = known
    return plausible(desk.params, LIVES, rng, names, covariance)


def _share_of_days(desk: OpenFile) -> float:
    """Share of the last weeks' days with practice."""
    begin = desk.day() - timedelta(days=HABIT_DAYS)
    since = desk.now() - timedelta(days=HABIT_DAYS)
    days = [day for day in desk.repertoire.practice_days(since) if day >= begin]
    if not days:
        return 1.0
    whole = (desk.day() - days[0]).days
    return min(1.0, len(days) / whole) if whole >= LEAST_DAYS else 1.0
