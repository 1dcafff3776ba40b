"""Days and numbers in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date


HEAD_ONLY = "Hold today's sitting in the head, without the instrument, or with it again"
"""What the key for it says, on Today and in practice."""


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


def counted(number: int, one: str, many: str = "") -> str:
    """Say a number of things: ``"1 tune"``, ``"36 tunes"``."""
    return f"{figures(number)} {one if number == 1 else many or one + 's'}"


def figures(number: int) -> str:
    """Write a number in groups of three, parted by blanks that do not break."""
    return f"{number:,}".replace(",", "\N{NO-BREAK SPACE}")
