"""When a date takes place, written in words that are read back the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from tunememory.planning.date_words import (
    DAY_NAMES,
    MONTH_NAMES,
    NUMBER_WORDS,
    When,
    day_words,
    first_from,
)
from tunememory.planning.rule import Rule, parse_rule

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

_YEAR = timedelta(days=365)


def when_words(when: When, today: date) -> str:
    """Return when a date takes place, for ``parse_when`` to read on the same day.

    Only what is past may be lost: a weekly date that began last year counts from today. Rules
    that have no words are given as they are: ``by rule FREQ=…``.

    >>> when_words(When(date(2026, 11, 26), "FREQ=WEEKLY;BYDAY=TH"), date(2026, 11, 25))
    'every Thursday'
    """
    if not when.rule:
        return f"{DAY_NAMES[when.first_day.weekday()]} {day_words(when.first_day)}"
    rule = _explicit(parse_rule(when.rule), when.first_day)
    said = _words(replace(rule, until=None)) if not rule.count else None
    words = said or f"by rule {rule.text}"
    from_today = first_from(rule, today) == first_from(rule, when.first_day)
    counts_on = rule.interval == 1 and not rule.count and when.first_day <= today
    if not from_today and not counts_on:
        words += f" from {day_words(when.first_day)}"
    if said and rule.until:
        words += f" until {day_words(rule.until)}"
    if when.except_days:
        words += f" except {listed([_near(day, today) for day in when.except_days])}"
    return words


def listed(words: Sequence[str]) -> str:
    """Return words as ``"a, b and c"``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _near(day: date, today: date) -> str:
    """A day, its year left out where it is the coming one."""
    if today <= day < today + _YEAR:
        return f"{day.day} {MONTH_NAMES[day.month - 1]}"
    return day_words(day)


def _explicit(rule: Rule, first_day: date) -> Rule:
    """The rule with what it takes from its first day said (RFC 5545, section 3.3.10)."""
    if rule.by_day or rule.by_month_day or rule.by_month:
        return rule
    match rule.frequency:
        case "WEEKLY":
            return replace(rule, by_day=((0, first_day.weekday()),))
        case "MONTHLY":
            return replace(rule, by_month_day=(first_day.day,))
        case "YEARLY":
            return replace(rule, by_month=(first_day.month,), by_month_day=(first_day.day,))
    return rule


def _words(rule: Rule) -> str | None:
    """A rule without an end in words, or ``None`` where there are none."""
    words = None
    match rule:
        case Rule("DAILY", by_day=(), by_month=(), by_place=()):
            words = _daily(rule.interval)
        case Rule("WEEKLY", by_month=(), by_place=(), week_starts=0):
            words = _weekly(rule.interval, [DAY_NAMES[day] for _, day in sorted(rule.by_day)])
        case Rule("MONTHLY", 1, by_day=(), by_month_day=(day,), by_month=(), by_place=()):
            words = _of_month(day)
        case Rule("MONTHLY", 1, by_month_day=(), by_month=(), by_place=()):
            words = _in_month(rule)
        case Rule("YEARLY", 1, by_day=(), by_month_day=(day,), by_month=(month,), by_place=()):
            words = f"every {day} {MONTH_NAMES[month - 1]}" if day > 0 else None
    return words


def _daily(interval: int) -> str | None:
    if interval == 1:
        return "every day"
    return f"every {NUMBER_WORDS[interval]} day" if interval in NUMBER_WORDS else None


def _in_month(rule: Rule) -> str | None:
    numbers = [number for number, _ in rule.by_day]
    days = {day for _, day in rule.by_day}
    if len(days) != 1 or not all(number in NUMBER_WORDS for number in numbers):
        return None
    return f"{listed([NUMBER_WORDS[n] for n in numbers])} {DAY_NAMES[days.pop()]} of the month"


def _weekly(interval: int, days: Sequence[str]) -> str:
    if interval == 1:
        return f"every {listed(days)}"
    if interval in NUMBER_WORDS:
        return f"every {NUMBER_WORDS[interval]} {listed(days)}"
    return f"every {interval} weeks on {listed(days)}"


def _of_month(day: int) -> str | None:
    if day == -1:
        return "last day of the month"
    if day < 0:
        return None
    ending = {1: "st", 2: "nd", 3: "rd"}.get(day % 10 if day // 10 != 1 else 0, "th")
    return f"{day}{ending} of the month"
