"""On which days a date takes place, which days are off, and which tunes a season wakes."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from tunememory.planning.rule import parse_rule

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from tunememory.tunes.dates import Date, DayOff
    from tunememory.tunes.sets import TuneSet

LOOK_AHEAD_DAYS = 3 * 366
"""How far ahead the next day of a date is looked for."""


def occurrences(dated: Date, from_day: date, to_day: date) -> tuple[date, ...]:
    """Return the days from ``from_day`` to ``to_day``, both included, on which it takes place.

    Raises:
        ValueError: The rule cannot be read, or never falls on any day.
    """
    return tuple(day for day in _days(dated, to_day) if day >= from_day)


def next_occurrence(dated: Date, day: date) -> date | None:
    """Return the first day on or after ``day`` on which it takes place, within three years.

    Raises:
        ValueError: As for ``occurrences``.
    """
    to_day = _later(max(day, dated.first_day), LOOK_AHEAD_DAYS)
    return next((found for found in _days(dated, to_day) if found >= day), None)


def last_occurrence(dated: Date, day: date) -> date | None:
    """Return the last day before ``day`` on which it took place, or ``None``.

    Raises:
        ValueError: As for ``occurrences``.
    """
    found = None
    for found in _days(dated, day - timedelta(days=1)):  # noqa: B007 - the last one is wanted
        pass
    return found


def coming(dates: Iterable[Date], day: date) -> tuple[tuple[date, Date], ...]:
    """Return every date with its next day from ``day`` on, the soonest first; past ones are out.

    Raises:
        ValueError: As for ``occurrences``.
    """
    found = [(on, dated) for dated in dates if (on := next_occurrence(dated, day)) is not None]
    return tuple(sorted(found, key=lambda pair: (pair[0], pair[1].title, pair[1].uuid)))


def tunes_of(dated: Date, sets: Mapping[str, TuneSet]) -> tuple[str, ...]:
    """Return the tunes wanted at a date, those of its sets included, each once.

    Args:
        dated: The date.
        sets: Sets by identity; one that is gone is passed over.
    """
    in_sets = (tune for uuid in dated.sets if uuid in sets for tune in sets[uuid].tunes)
    return tuple(dict.fromkeys((*dated.tunes, *in_sets)))


def is_off(day: date, days_off: Iterable[DayOff]) -> bool:
    """Whether nothing is asked on ``day``.

    Raises:
        ValueError: A rule cannot be read, or never falls on any day.
    """
    return any(_is_off(day, one) for one in days_off)


def playing_days(from_day: date, to_day: date, days_off: Sequence[DayOff]) -> tuple[date, ...]:
    """Return the days from ``from_day`` to ``to_day``, both included, that are not off.

    Raises:
        ValueError: As for ``is_off``.
    """
    days = (from_day + timedelta(days=n) for n in range((to_day - from_day).days + 1))
    return tuple(day for day in days if not is_off(day, days_off))


def _days(dated: Date, to_day: date) -> Iterator[date]:
    if not dated.rule:
        days = iter((dated.first_day,) if dated.first_day <= to_day else ())
    else:
        days = parse_rule(dated.rule).days(dated.first_day, to_day)
    out = set(dated.except_days)
    return (day for day in days if day not in out)


def _is_off(day: date, off: DayOff) -> bool:
    if not off.rule:
        return off.first_day <= day <= off.last_day
    if day < off.first_day:
        return False
    return any(found == day for found in parse_rule(off.rule).days(off.first_day, day))


def _later(day: date, days: int) -> date:
    return day + timedelta(days=min(days, (date.max - day).days))
