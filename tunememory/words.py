"""Days and numbers in plain words, the same wherever they are said."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date


DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
"""In the order of ``date.weekday``."""

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def day_words(day: date, *, year: bool = True) -> str:
    """Say a day: ``"24 November 2026"``, or without its year."""
    said = f"{day.day} {MONTH_NAMES[day.month - 1]}"
    return f"{said} {day.year}" if year else said


def weekday_words(day: date, *, year: bool = True) -> str:
    """Say a day: ``"Tuesday 24 November 2026"``, or without its year."""
    return f"{DAY_NAMES[day.weekday()]} {day_words(day, year=year)}"


def ago(day: date | None, today: date) -> str:
    """Say how long ago a day was.

    A day after ``today`` (a clock that was set back) counts as today.
    """
    if day is None:
        return "not met yet"
    days = max(0, (today - day).days)
    if days < 2:
        return ("today", "yesterday")[days]
    return f"{_span(days)} ago"


def ahead(days: float) -> str:
    """Say how far ahead a number of days is: ``"tomorrow"``, ``"in 3 weeks"``."""
    whole = max(0, round(days))
    if whole < 2:
        return ("today", "tomorrow")[whole]
    return f"in {_span(whole)}"


def _span(days: int) -> str:
    """Say a number of days from 2 on in the unit a person would use."""
    if days < 14:
        return f"{days} days"
    if days < 26:
        return f"{round(days / 7)} weeks"
    if days < 46:
        return "a month"
    if days < 730:
        return f"{round(days / 30.4)} months"
    return f"{round(days / 365.25)} years"


def minutes_words(minutes: float) -> str:
    """Write minutes as read aloud, empty for none: ``"7 min"``."""
    return f"{round(minutes)} min" if round(minutes) else ""


def counted(number: int, one: str, many: str = "") -> str:
    """Say a number of things: ``"1 tune"``, ``"36 tunes"``."""
    return f"{figures(number)} {one if number == 1 else many or one + 's'}"


def figures(number: int) -> str:
    """Write a number in groups of three, parted by blanks that do not break."""
    return f"{number:,}".replace(",", "\N{NO-BREAK SPACE}")


def listed(words: Sequence[str]) -> str:
    """Return words as ``"a, b and c"``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
