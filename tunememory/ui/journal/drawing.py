"""The journal as lines: the calendar of days, and what a day holds."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from tunememory.practice.heard import NO_NAME, heard_facts
from tunememory.practice.journal import day_facts, entry_facts
from tunememory.ui.text import hanging
from tunememory.words import DAY_NAMES, MONTH_NAMES, ago, weekday_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.practice.heard import HeardTune
    from tunememory.practice.journal import CalendarDay, JournalDay, JournalEntry
    from tunememory.ui.text import Span


LABEL = 5
"""Cells of the names of the days of the week."""

MOST_WEEKS = 40
WEEKS_AHEAD = 4
"""Weeks after this one that the calendar shows."""


class JournalRow(NamedTuple):
    """A line of a day.

    Attributes:
        spans: What is written.
        tune: The tune it is about, or empty.
        heard: What was heard, where it is about that.
    """

    spans: list[Span]
    tune: str = ""
    heard: HeardTune | None = None


def shown_days(today: date, around: date, width: int) -> tuple[date, date]:
    """Return first and last day of a calendar of ``width`` cells that holds both days.

    Args:
        today: The present practice day.
        around: The day the cursor is on.
        width: Cells across.
    """
    weeks = max(2, min(MOST_WEEKS, (width - LABEL) // 2))
    last = today - timedelta(days=today.weekday()) + timedelta(weeks=WEEKS_AHEAD, days=6)
    first = last - timedelta(weeks=weeks) + timedelta(days=1)
    if around < first:
        back = -(-(first - around).days // 7)
        first, last = first - timedelta(weeks=back), last - timedelta(weeks=back)
    elif around > last:
        on = -(-(around - last).days // 7)
        first, last = first + timedelta(weeks=on), last + timedelta(weeks=on)
    return first, last


def calendar_lines(days: Sequence[CalendarDay], today: date, cursor: date) -> list[list[Span]]:
    """Draw days as seven rows, one column a week, the names of the months above.

    Args:
        days: Whole weeks, Monday first, ascending.
        today: The present practice day.
        cursor: The day looked at.
    """
    weeks = [days[first : first + 7] for first in range(0, len(days), 7)]
    lines: list[list[Span]] = [[(" " * LABEL, ""), (_months(weeks), "quiet")]]
    for weekday, name in enumerate(DAY_NAMES):
        row: list[Span] = [(f"{name[:3]:<{LABEL - 1}}", "quiet")]
        for week in weeks:
            day = week[weekday]
            sign, role = _sign(day, today)
            here = day.day == cursor
            row += [("▸" if here else " ", "bright"), (sign, "bright" if here else role)]
        lines.append(row)
    return lines


LEGEND = "● practised  ○ asked  ◆ ◇ a date  – day off"


def _sign(day: CalendarDay, today: date) -> Span:
    """A sign for what a day holds: each is told apart without colour."""
    done = day.minutes > 0 or day.asked > 0
    if day.dates:
        return ("◆" if done else "◇", "accent")
    if day.minutes > 0:
        return ("●", "")
    if day.asked:
        return ("○", "")
    if day.off:
        return ("–", "quiet")
    return ("·" if day.day <= today else " ", "staff")


def _months(weeks: Sequence[Sequence[CalendarDay]]) -> str:
    line = [" "] * (2 * len(weeks) + 3)
    free = 0
    for place, week in enumerate(weeks):
        first = next((day.day for day in week if day.day.day == 1), None)
        if first is not None and 2 * place >= free:
            name = MONTH_NAMES[first.month - 1][:3]
            line[2 * place : 2 * place + len(name)] = name
            free = 2 * place + len(name) + 1
    return "".join(line[: 2 * len(weeks)]).rstrip()


def day_rows(day: JournalDay, width: int) -> list[JournalRow]:
    """Write everything of a day.

    Args:
        day: The day.
        width: Cells across.
    """
    head = hanging(
        f"{weekday_words(day.day)}  ", " · ".join(day_facts(day)), width, "quiet", "strong"
    )
    rows = [JournalRow(line) for line in head]
    if day.would_not_come:
        rows += _rows("would not come: ", ", ".join(day.would_not_come), width)
    for entry in day.entries:
        said = " · ".join((entry.title or "practice", *entry_facts(entry)))
        rows += _rows("● ", said, width, tune=entry.tune)
    for heard in day.heard:
        said = "heard: " + ", ".join((heard.name or NO_NAME, *heard_facts(heard)))
        rows += _rows("♪ ", said, width, tune=heard.tune, heard=heard)
    if day.pick_up:
        rows += _rows("→ ", f"pick up here: {day.pick_up}", width, "accent")
    return rows


def tune_rows(entry: JournalEntry, today: date, width: int) -> list[JournalRow]:
    """Write when something was done on a tune, and what.

    Args:
        entry: What was done.
        today: The present practice day.
        width: Cells across.
    """
    what = " · ".join(entry_facts(entry)) or "practice"
    return _rows(f"{ago(entry.day, today):<14}", what, width, tune=entry.tune)


def _rows(
    sign: str, text: str, width: int, role: str = "", tune: str = "", heard: HeardTune | None = None
) -> list[JournalRow]:
    """Write a text after a sign."""
    return [JournalRow(line, tune, heard) for line in hanging(sign, text, width, role)]
