"""Days and recurrences in words: read strictly."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import MAXYEAR, date, timedelta
from typing import TYPE_CHECKING

from tunememory.dates.recurrence import FIRST_YEAR, LAST_YEAR, Rule, parse_rule, read_day
from tunememory.errors import NotDoneError
from tunememory.text import clean_text
from tunememory.words import DAY_NAMES, MONTH_NAMES, day_words, listed, weekday_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.store.records import Date


NUMBER_WORDS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth", -1: "last"}

HELP = (
    "write a day such as 2026-12-05, 5 December, Thursday or +12d, or every Thursday, "
    "every second Thursday, second Saturday of the month, 15th of the month, every 17 March; "
    "then from, until or except"
)
"""What can be written."""

LOOK_AHEAD_YEARS = 12
"""A recurring date has to take place within so many years: 29 February may be eight away."""

_LONGEST = 200
_NUMBERS = {word: number for number, word in NUMBER_WORDS.items()}
_NUMBERS |= {"other": 2, "1st": 1, "2nd": 2, "3rd": 3, "4th": 4, "5th": 5}
_CLAUSE = re.compile(r"(?<!\S)(from|until|except)(?!\S)")
_AND = re.compile(r"\s*,\s*(?:and\s+)?|\s+and\s+")
_AHEAD = re.compile(r"\+(\d{1,3})\s*([dw])", re.ASCII)
_ISO = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.? ([a-z]{3,9})\.?(?: (\d{4}))?", re.ASCII)
_DAY_OF_MONTH = re.compile(
    r"(?:every )?(?:the )?(?:(\d{1,2})(?:st|nd|rd|th)|last day) of (?:the|every) month", re.ASCII
)
_BY_RULE = re.compile(r"by rule (\S+)")
_WEEKS = re.compile(r"(\d{1,3}) weeks on (.+)", re.ASCII)
_IN_MONTH = re.compile(r"(.+?)(?: (?:of|in) (?:the|every) month)?")


@dataclass(frozen=True, slots=True)
class When:
    """When a date takes place; fields as in ``Date``."""

    first_day: date
    rule: str = ""
    except_days: tuple[date, ...] = ()


def parse_when(text: str, today: date) -> When:
    """Read when a date takes place.

    A weekday alone is the coming one, today not included; a day and month without a year is the
    coming one, today included. ``every second Thursday`` counts weeks, ``second Saturday`` counts
    within the month. A recurring date begins with its first day from today on, or after ``from``.

    >>> parse_when("every Thursday except 24 December", date(2026, 11, 25)).rule
    'FREQ=WEEKLY;BYDAY=TH'

    Raises:
        NotDoneError: One line: what cannot be read, and what to write.
    """
    head, *rest = (piece.strip() for piece in _CLAUSE.split(_plain(text)))
    names, values = rest[::2], rest[1::2]
    clauses = dict(zip(names, values, strict=True))
    if len(clauses) < len(names):
        raise NotDoneError(f"“{_plain(text)}” says from, until or except twice: {HELP}")
    rule = _rule(head, today)
    if rule is None:
        if clauses:
            raise NotDoneError(f"“{head}” is one day, so it has no {' or '.join(clauses)}: {HELP}")
        return When(parse_day(head, today))
    begin = parse_day(clauses["from"], today) if "from" in clauses else today
    if "until" in clauses:
        rule = parse_rule(f"{rule.text};UNTIL={parse_day(clauses['until'], begin):%Y%m%d}")
    first = first_from(rule, begin)
    if first is None:
        raise NotDoneError(f"“{_plain(text)}” falls on no day")
    out = [parse_day(word, today) for word in _AND.split(clauses.get("except", "")) if word]
    if "except" in clauses and not out:
        raise NotDoneError(f"“except” needs a day: {HELP}")
    taking_place = set(rule.days(first, max(out, default=first)))
    for day in out:
        if day not in taking_place:
            raise NotDoneError(f"{weekday_words(day)} is no day of “{head}”")
    return When(first, rule.text, tuple(sorted(set(out))))


def parse_day(text: str, today: date) -> date:
    """Read one day: ``2026-12-05``, ``5 December``, ``Thursday``, ``+12d``, ``tomorrow``.

    Raises:
        NotDoneError: One line: what cannot be read, and what to write.
    """
    word = _plain(text)
    if word in {"today", "tomorrow"}:
        return today + timedelta(days=word == "tomorrow")
    if ahead := _AHEAD.fullmatch(word):
        return today + timedelta(days=int(ahead[1]) * (7 if ahead[2] == "w" else 1))
    weekday = _named(word, DAY_NAMES)
    if weekday is not None:
        return today + timedelta(days=(weekday - today.weekday() - 1) % 7 + 1)
    if found := _DAY_MONTH.fullmatch(word):
        month = _named(found[2], MONTH_NAMES)
        if month is not None:
            return _day_of_year(int(found[1]), month + 1, found[3], today)
    if _ISO.fullmatch(word):
        return read_day(word)
    raise NotDoneError(f"“{_plain(text)}” is no day: {HELP}")


def first_from(rule: Rule, day: date) -> date | None:
    """Return the first day that a rule said on ``day`` means, within some years.

    An interval is counted from that first day on.
    """
    last = date(min(day.year + LOOK_AHEAD_YEARS, MAXYEAR), 12, 31)
    return next(replace(rule, interval=1).days(day, last), None)


def _plain(text: str) -> str:
    return clean_text(text, limit=_LONGEST).casefold()


def _named(word: str, names: tuple[str, ...]) -> int | None:
    """Place of a name given in full or by at least three letters, or ``None``."""
    if len(word) < 3:
        return None
    return next((place for place, name in enumerate(names) if name.casefold().startswith(word)),
                None)  # fmt: skip


def _day_of_year(day: int, month: int, year: str | None, today: date) -> date:
    if year is not None:
        return read_day(f"{year}-{month:02}-{day:02}")
    for coming in range(today.year, min(today.year + 9, LAST_YEAR + 1)):
        try:
            found = date(coming, month, day)
        except ValueError:
            continue
        if found >= max(today, date(FIRST_YEAR, 1, 1)):
            return found
    raise NotDoneError(f"there is no {day} {MONTH_NAMES[month - 1]}")


def _rule(head: str, today: date) -> Rule | None:
    """The rule that ``head`` says, or ``None`` where it does not say one."""
    if by_rule := _BY_RULE.fullmatch(head):
        return parse_rule(by_rule[1])
    if found := _DAY_OF_MONTH.fullmatch(head):
        return parse_rule(f"FREQ=MONTHLY;BYMONTHDAY={found[1] or -1}")
    if not head.startswith("every "):
        return _in_month(head)
    rule = _every(head.removeprefix("every "), today)
    if rule is None:
        raise NotDoneError(f"“{head}” cannot be read: {HELP}")
    return rule


def _every(what: str, today: date) -> Rule | None:
    """The rule of ``every …``, or ``None``."""
    if found := _WEEKS.fullmatch(what):
        return _weekly(int(found[1]), found[2])
    if what == "day":
        return Rule("DAILY")
    first, _, rest = what.partition(" ")
    number = _NUMBERS.get(first, 0)
    if number > 1 and rest == "day":
        return Rule("DAILY", number)
    return (
        _weekly(1, what)
        or (_weekly(number, rest) if number > 1 else None)
        or _in_month(what)
        or _yearly(what, today)
    )


def _weekly(interval: int, days: str) -> Rule | None:
    found = [_named(word.removesuffix("s"), DAY_NAMES) for word in _AND.split(days)]
    named = sorted({day for day in found if day is not None})
    if None in found:
        return None
    checked = parse_rule(f"FREQ=WEEKLY;INTERVAL={interval}")
    return Rule("WEEKLY", checked.interval, by_day=tuple((0, day) for day in named))


def _yearly(what: str, today: date) -> Rule | None:
    found = _DAY_MONTH.fullmatch(what)
    if found is None or found[3]:
        return None
    day = parse_day(found[0], today)
    return Rule("YEARLY", by_month=(day.month,), by_month_day=(day.day,))


def _in_month(head: str) -> Rule | None:
    """``first and third Tuesday``, with or without ``of the month``."""
    found = _IN_MONTH.fullmatch(head)
    if found is None:
        return None
    *numbers, last = _AND.split(found[1])
    number, _, weekday = last.partition(" ")
    day = _named(weekday.removesuffix("s"), DAY_NAMES)
    wanted = [_NUMBERS.get(word) for word in (*numbers, number)]
    if day is None or None in wanted:
        return None
    pairs = dict.fromkeys((n, day) for n in wanted if n is not None)
    return Rule("MONTHLY", by_day=tuple(pairs))


_YEAR = timedelta(days=365)


def when_words(when: When, today: date) -> str:
    """Return when a date takes place, for ``parse_when`` to read on the same day.

    Only what is past may be lost: a weekly date that began last year counts from today. Rules
    that have no words are given as they are: ``by rule FREQ=…``.

    >>> when_words(When(date(2026, 11, 26), "FREQ=WEEKLY;BYDAY=TH"), date(2026, 11, 25))
    'every Thursday'
    """
    if not when.rule:
        return weekday_words(when.first_day)
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


def date_words(dated: Date, today: date) -> str:
    """Return when a date takes place, in words that are read back the same today.

    Raises:
        NotDoneError: Its rule cannot be read, or never falls on any day.
    """
    return when_words(When(dated.first_day, dated.rule, dated.except_days), today)


def _near(day: date, today: date) -> str:
    """A day, its year left out where it is the coming one."""
    return day_words(day, year=not today <= day < today + _YEAR)


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
            words = _weekly_words(rule.interval, [DAY_NAMES[day] for _, day in sorted(rule.by_day)])
        case Rule("MONTHLY", 1, by_day=(), by_month_day=(day,), by_month=(), by_place=()):
            words = _of_month(day)
        case Rule("MONTHLY", 1, by_month_day=(), by_month=(), by_place=()):
            words = _in_month_words(rule)
        case Rule("YEARLY", 1, by_day=(), by_month_day=(day,), by_month=(month,), by_place=()):
            words = f"every {day} {MONTH_NAMES[month - 1]}" if day > 0 else None
    return words


def _daily(interval: int) -> str | None:
    if interval == 1:
        return "every day"
    return f"every {NUMBER_WORDS[interval]} day" if interval in NUMBER_WORDS else None


def _in_month_words(rule: Rule) -> str | None:
    numbers = [number for number, _ in rule.by_day]
    days = {day for _, day in rule.by_day}
    if len(days) != 1 or not all(number in NUMBER_WORDS for number in numbers):
        return None
    return f"{listed([NUMBER_WORDS[n] for n in numbers])} {DAY_NAMES[days.pop()]} of the month"


def _weekly_words(interval: int, days: Sequence[str]) -> str:
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
