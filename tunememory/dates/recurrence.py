"""Recurrence rules of RFC 5545 (section 3.3.10) for days, and the days on which dates fall."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import MAXYEAR, date, datetime, time, timedelta
from functools import lru_cache
from itertools import islice, takewhile
from typing import TYPE_CHECKING, Literal

from tunememory.errors import NotDoneError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from dateutil.rrule import rrule

    from tunememory.store.records import Date, DayOff, TuneSet


WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
"""In the order of ``date.weekday``."""

FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")

FIRST_YEAR, LAST_YEAR = 1900, 2199
"""Years a date may lie in; anything else is a slip."""

MOST_WEEKS_BEFORE = 52
"""So many weeks before a date its tunes may wake."""

_DAY = re.compile(r"([+-]?\d{1,2})?(MO|TU|WE|TH|FR|SA|SU)", re.ASCII)
_NUMBER = re.compile(r"[+-]?\d{1,4}", re.ASCII)
_UNTIL = re.compile(r"(\d{8})(?:T\d{6}Z?)?", re.ASCII)
_PARTS = ("FREQ", "INTERVAL", "COUNT", "UNTIL", "BYDAY", "BYMONTHDAY", "BYMONTH", "BYSETPOS",
          "WKST")  # fmt: skip
_MOST_INTERVAL = 366
_MOST_COUNT = 9999
_RAREST_YEARS = 60
"""Years left for a rule to fall on a day: 29 February is a Monday once in 28 or 40."""

_NUMBERED = ("YEARLY", "MONTHLY")


@dataclass(frozen=True, slots=True)
class Rule:
    """A recurrence rule.

    Attributes:
        frequency: One of ``FREQUENCIES``.
        interval: Every so many of them.
        count: How many days in all, or ``None``.
        until: Last day, or ``None``.
        by_day: ``(number, weekday)`` pairs; number 0 is every such day of the period, -1 the last.
        by_month_day: Days of the month, negative from its end.
        by_month: Months.
        by_place: Which of the days of a period (``BYSETPOS``).
        week_starts: Weekday a week begins with, 0 is Monday.
    """

    frequency: str
    interval: int = 1
    count: int | None = None
    until: date | None = None
    by_day: tuple[tuple[int, int], ...] = ()
    by_month_day: tuple[int, ...] = ()
    by_month: tuple[int, ...] = ()
    by_place: tuple[int, ...] = ()
    week_starts: int = 0

    @property
    def text(self) -> str:
        """The value of ``RRULE``, always written the same way."""
        days = (f"{number or ''}{WEEKDAYS[weekday]}" for number, weekday in self.by_day)
        parts = {
            "FREQ": self.frequency,
            "INTERVAL": str(self.interval) if self.interval != 1 else "",
            "COUNT": str(self.count) if self.count else "",
            "UNTIL": self.until.strftime("%Y%m%d") if self.until else "",
            "BYDAY": ",".join(days),
            "BYMONTHDAY": ",".join(map(str, self.by_month_day)),
            "BYMONTH": ",".join(map(str, self.by_month)),
            "BYSETPOS": ",".join(map(str, self.by_place)),
            "WKST": WEEKDAYS[self.week_starts] if self.week_starts else "",
        }
        return ";".join(f"{name}={value}" for name, value in parts.items() if value)

    def days(self, first_day: date, to_day: date, from_day: date = date.min) -> Iterator[date]:
        """Yield the days of the rule, ascending.

        Args:
            first_day: The day from which the rule counts.
            to_day: None after it.
            from_day: None before it.

        Raises:
            NotDoneError: The rule never falls on any day.
        """
        _refuse_never(self, first_day)
        end = min(to_day, self.until) if self.until else to_day
        begin = self._nearer(first_day, from_day)
        days = (moment.date() for moment in islice(_made(self, begin), self.count))
        return (day for day in takewhile(lambda day: day <= end, days) if day >= from_day)

    def _nearer(self, first_day: date, from_day: date) -> date:
        """A day from which the rule gives the same days from ``from_day`` on.

        Nothing is gone through one by one that lies long before.
        """
        length = {"DAILY": 1, "WEEKLY": 7}.get(self.frequency)
        if length is None or self.count or from_day <= first_day:
            return first_day
        length *= self.interval
        return first_day + timedelta(days=(from_day - first_day).days // length * length)


@lru_cache(maxsize=512)
def parse_rule(text: str) -> Rule:
    """Read the value of an ``RRULE``.

    Raises:
        NotDoneError: One line: which part cannot be read or is not for days.
    """
    parts: dict[str, str] = {}
    for part in text.strip().upper().split(";"):
        name, sign, value = part.partition("=")
        if not sign or name not in _PARTS:
            raise NotDoneError(f"“{part}” is no part of a rule for days ({', '.join(_PARTS)})")
        if name in parts:
            raise NotDoneError(f"{name} is given twice in the rule")
        parts[name] = value
    if parts.get("FREQ") not in FREQUENCIES:
        raise NotDoneError("the rule needs FREQ=DAILY, WEEKLY, MONTHLY or YEARLY")
    rule = Rule(
        frequency=parts["FREQ"],
        interval=_counted(parts, "INTERVAL", _MOST_INTERVAL) or 1,
        count=_counted(parts, "COUNT", _MOST_COUNT),
        until=_until(parts),
        by_day=tuple(map(_day, _several(parts, "BYDAY"))),
        by_month_day=_numbers(parts, "BYMONTHDAY", 31),
        by_month=_numbers(parts, "BYMONTH", 12),
        by_place=_numbers(parts, "BYSETPOS", 366),
        week_starts=_week_start(parts),
    )
    _refuse_meaningless(rule)
    return rule


def _refuse_meaningless(rule: Rule) -> None:
    if rule.count and rule.until:
        raise NotDoneError("a rule has COUNT or UNTIL, not both")
    numbers = [abs(number) for number, _ in rule.by_day if number]
    if numbers and rule.frequency not in _NUMBERED:
        raise NotDoneError("a numbered weekday such as 2SA needs FREQ=MONTHLY or YEARLY")
    if max(numbers, default=0) > 5 and (rule.frequency == "MONTHLY" or rule.by_month):
        raise NotDoneError("the rule counts more than five of a weekday in a month")
    if rule.by_month_day and rule.frequency not in _NUMBERED:
        raise NotDoneError("BYMONTHDAY needs FREQ=MONTHLY or YEARLY")
    if rule.by_place and not (rule.by_day or rule.by_month_day or rule.by_month):
        raise NotDoneError("BYSETPOS needs BYDAY, BYMONTHDAY or BYMONTH beside it")
    if min(rule.by_month, default=1) < 1:
        raise NotDoneError("BYMONTH counts from 1 to 12")


def _counted(parts: dict[str, str], name: str, most: int) -> int | None:
    if name not in parts:
        return None
    value = parts[name]
    if not _NUMBER.fullmatch(value) or not 1 <= int(value) <= most:
        raise NotDoneError(f"{name}={value} in the rule is not from 1 to {most}")
    return int(value)


def _several(parts: dict[str, str], name: str) -> list[str]:
    return parts[name].split(",") if name in parts else []


def _numbers(parts: dict[str, str], name: str, most: int) -> tuple[int, ...]:
    found = []
    for word in _several(parts, name):
        if not _NUMBER.fullmatch(word) or not 1 <= abs(int(word)) <= most:
            raise NotDoneError(f"{name}={parts[name]} in the rule is not from 1 to {most}")
        found.append(int(word))
    return tuple(found)


def _day(word: str) -> tuple[int, int]:
    found = _DAY.fullmatch(word)
    number = int(found[1] or 0) if found else 0
    if found is None or abs(number) > 53 or found[1] in {"0", "00", "+0", "-0"}:
        raise NotDoneError(f"“{word}” in the rule is no weekday such as TH or 2SA")
    return number, WEEKDAYS.index(found[2])


def _until(parts: dict[str, str]) -> date | None:
    text = parts.get("UNTIL")
    if text is None:
        return None
    found = _UNTIL.fullmatch(text)
    if found is None:
        raise NotDoneError(f"UNTIL={text} in the rule is no day such as 20261224")
    return read_day(found[1])


def _week_start(parts: dict[str, str]) -> int:
    name = parts.get("WKST", "MO")
    if name not in WEEKDAYS:
        raise NotDoneError(f"WKST={name} in the rule is no weekday such as MO")
    return WEEKDAYS.index(name)


def read_day(text: str) -> date:
    """Read a day as RFC 5545 (section 3.3.4) or ISO 8601 write it: ``20261224``, ``2026-12-24``.

    Raises:
        NotDoneError: It is no such day, or not of the years 1900 to 2199.
    """
    if not re.fullmatch(r"\d{8}|\d{4}-\d\d-\d\d", text, re.ASCII):
        raise NotDoneError(f"“{text}” is no day such as 2026-12-24")
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise NotDoneError(f"there is no day {text}") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise NotDoneError(f"“{text}” is not of the years {FIRST_YEAR} to {LAST_YEAR}")
    return day


def _made(rule: Rule, first_day: date) -> rrule:
    # Not loaded where no date recurs.
    from dateutil.rrule import DAILY, MONTHLY, WEEKLY, YEARLY, rrule, weekday  # noqa: PLC0415

    named: tuple[Literal[0, 1, 2, 3], ...] = (DAILY, WEEKLY, MONTHLY, YEARLY)
    return rrule(
        named[FREQUENCIES.index(rule.frequency)],
        datetime.combine(first_day, time()),
        interval=rule.interval,
        wkst=rule.week_starts,
        byweekday=[weekday(day, number or None) for number, day in rule.by_day] or None,
        bymonthday=rule.by_month_day or None,
        bymonth=rule.by_month or None,
        bysetpos=rule.by_place or None,
    )


@lru_cache(maxsize=2048)
def _refuse_never(rule: Rule, first_day: date) -> None:
    """Refuse a rule without a day, which dateutil would look for up to the year 9999.

    The calendar comes round every 400 years, weekdays included, so the same rule is tried from a
    day in the last centuries dateutil knows.
    """
    rounds = (MAXYEAR - _RAREST_YEARS - first_day.year) // 400
    late = first_day.replace(year=first_day.year + 400 * rounds)
    if next(iter(_made(rule, late)), None) is None:
        raise NotDoneError(f"the rule {rule.text} never falls on any day")


LOOK_AHEAD_DAYS = 3 * 366
"""How far ahead the next day of a date is looked for, and the last one first."""

REGULAR_DAYS = 14
"""A date that comes round within so many days is a regular one."""


def occurrences(dated: Date, from_day: date, to_day: date) -> tuple[date, ...]:
    """Return the days from ``from_day`` to ``to_day``, both included, on which it takes place.

    Raises:
        NotDoneError: The rule cannot be read, or never falls on any day.
    """
    return tuple(_days(dated, from_day, to_day))


def next_occurrence(dated: Date, day: date) -> date | None:
    """Return the first day on or after ``day`` on which it takes place, within three years.

    Raises:
        NotDoneError: As for ``occurrences``.
    """
    return next(_days(dated, day, _shifted(max(day, dated.first_day), LOOK_AHEAD_DAYS)), None)


def last_occurrence(dated: Date, day: date) -> date | None:
    """Return the last day before ``day`` on which it took place, or ``None``.

    Raises:
        NotDoneError: As for ``occurrences``.
    """
    yesterday = day - timedelta(days=1)
    for begin in (_shifted(day, -LOOK_AHEAD_DAYS), date.min):
        if found := occurrences(dated, begin, yesterday):
            return found[-1]
    return None


def is_regular(dated: Date, on: date) -> bool:
    """Whether a date that falls on a day comes round within ``REGULAR_DAYS`` of it.

    Raises:
        NotDoneError: As for ``occurrences``.
    """
    return bool(occurrences(dated, on + timedelta(days=1), _shifted(on, REGULAR_DAYS)))


def eve_of_one(dates: Iterable[Date], day: date) -> bool:
    """Whether a date that is no regular one falls on the day after ``day``.

    Raises:
        NotDoneError: As for ``occurrences``.
    """
    tomorrow = day + timedelta(days=1)
    return any(
        occurrences(dated, tomorrow, tomorrow) and not is_regular(dated, tomorrow)
        for dated in dates
    )


def coming(dates: Iterable[Date], day: date) -> tuple[tuple[date, Date], ...]:
    """Return every date with its next day from ``day`` on, the soonest first; past ones are out.

    Raises:
        NotDoneError: As for ``occurrences``.
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


def playing_days(from_day: date, to_day: date, days_off: Iterable[DayOff]) -> tuple[date, ...]:
    """Return the days from ``from_day`` to ``to_day``, both included, that are not off.

    Raises:
        NotDoneError: A rule cannot be read, or never falls on any day.
    """
    off: set[date] = set()
    for one in days_off:
        if one.rule:
            off.update(parse_rule(one.rule).days(one.first_day, to_day, from_day))
        else:
            off.update(_each(max(from_day, one.first_day), min(to_day, one.last_day)))
    return tuple(day for day in _each(from_day, to_day) if day not in off)


def _each(from_day: date, to_day: date) -> Iterator[date]:
    return map(date.fromordinal, range(from_day.toordinal(), to_day.toordinal() + 1))


def _days(dated: Date, from_day: date, to_day: date) -> Iterator[date]:
    if not dated.rule:
        return iter((dated.first_day,) if from_day <= dated.first_day <= to_day else ())
    out = set(dated.except_days)
    days = parse_rule(dated.rule).days(dated.first_day, to_day, from_day)
    return (day for day in days if day not in out)


def _shifted(day: date, days: int) -> date:
    """A day so many days later, or the last or first there is."""
    return date.fromordinal(min(max(1, day.toordinal() + days), date.max.toordinal()))
