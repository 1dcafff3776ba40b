"""Dates as lines: how ready one is in words, and the tunes of one."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from tunememory.dates.changing import DayOffView
from tunememory.dates.played import PastDate, Played
from tunememory.dates.readiness import DateView, Readiness
from tunememory.recall.state import in_ten
from tunememory.ui.canvas import space_of
from tunememory.ui.text import cell, wrapped
from tunememory.words import ago, ahead, counted, day_words, weekday_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.dates.readiness import DateTune
    from tunememory.ui.text import Span


ROOMY = 68
"""From this many cells on everything is written out."""

NO_DATES = (
    "No dates yet.",
    "",
    "Press n to put one in: “every thursday”, “5 december”,",
    "“second saturday”, “every friday except 25 december”.",
    "Then pick its tunes: they come forward as it comes near.",
    "",
    "Press o for days off, i to bring in a calendar.",
)


DateRow: TypeAlias = DateView | PastDate | DayOffView
"""A line of the list: a date, one that has been and is to be told of, or days off."""


def ready_words(view: DateView, *, brief: bool = False) -> str:
    """Say how many would start now and on the day.

    ``"12 of 20 would start, 15 by then"``; ``"no tunes yet"`` where none are wanted.
    """
    if not view.wanted:
        return "no tunes yet"
    by_then = view.ready + view.will_be
    said = f"{view.ready} of {view.wanted}" + ("" if brief else " would start")
    return said if by_then <= view.ready or view.on is None else f"{said}, {by_then} by then"


def date_spans(row: DateRow, width: int) -> list[Span]:
    """Write a line of the list of dates."""
    if isinstance(row, DayOffView):
        return _columns("– ", row.note or "day off", "", row.when, width, "quiet")
    title = row.dated.title
    if isinstance(row, PastDate):
        on = f"{row.on:%a} {row.on.day}"
        return _columns("? ", title, on, "what was played?", width, "bright")
    if row.days is None:
        return _columns("· ", title, "over", "", width, "quiet")
    said = ready_words(row, brief=width < ROOMY)
    return _columns("◇ ", title, ahead(row.days), said, width, "")


def _columns(sign: str, title: str, when: str, said: str, width: int, role: str) -> list[Span]:
    words = 33 if width >= ROOMY else 22
    room = max(8, width - 2 - 12 - words)
    return [
        (sign, role or "accent"),
        (cell(title, room), role),
        (cell(f" {when}", 12), "quiet"),
        (cell(f" {said}", words), role or "quiet"),
    ]


def date_lines(
    view: DateView, today: date, width: int, *, set_word: str = "set"
) -> list[list[Span]]:
    """Say what a date is and how ready.

    Args:
        view: The date.
        today: The present practice day.
        width: Cells across.
        set_word: What the player calls tunes played in a row.
    """
    on, when = "over", view.when
    if view.on is not None:
        day = weekday_words(view.on, year=False)
        on = f"{day}, {ahead((view.on - today).days)}"
        # Of a single day everything is said already.
        when = "" if when.startswith(day) else when
    facts = " · ".join(filter(None, (view.dated.kind, view.dated.place, when)))
    lines = wrapped(facts, width, "quiet") if facts else []
    lines.append([(cell(on, min(width, 34)), "strong")])
    if view.on is not None:
        lines += wrapped(ready_words(view), width, "bright" if view.wanted else "quiet")
    if view.sets:
        lines += wrapped(f"{set_word}s: {', '.join(view.sets)}", width, "quiet")
    if view.leave_out:
        said = "Under half can be ready. Rather leave out: " + ", ".join(view.leave_out)
        lines += wrapped(said, width, "fading")
    return lines


READY_WORDS = {
    Readiness.READY: "ready",
    Readiness.WILL_BE: "by then",
    Readiness.NOT_YET: "not yet",
}
"""How a tune stands, in a column."""


def date_tune_spans(row: DateTune, width: int, *, over: bool = False) -> list[Span]:
    """Write a tune of a date: its chance now, its chance on the day, how it stands.

    Args:
        row: The tune.
        width: Cells across.
        over: The date is over: whether it was played there is all there is to say.
    """
    brief = width < ROOMY
    key = 6 if width >= 52 else 0
    if over:
        said = f"played {day_words(row.played, year=False)}" if row.played else ""
        room = max(8, width - 20 - key)
        return [(cell(row.tune.title, room), ""), (cell(f" {row.tune.key_short}", key), "quiet"),
                (cell(said, 20), "quiet")]  # fmt: skip
    chance = 10 if brief else 14
    now, then = in_ten(row.chance, brief=brief), in_ten(row.kept, brief=brief)
    room = max(8, width - 2 * chance - 3 - 8 - key)
    mark = "" if row.readiness is Readiness.READY else space_of(row.kept)
    return [
        (cell(row.tune.title, room), ""),
        (cell(f" {row.tune.key_short}", key), "quiet"),
        (cell(f" {now}", chance), space_of(row.chance)),
        (" → ", "staff"),
        (cell(then, chance), space_of(row.kept)),
        (cell(READY_WORDS[row.readiness], 8), mark or "strong"),
    ]


def preview_words(words: str, days: Sequence[date]) -> str:
    """Say how a date was understood: ``"every Thursday: 26 November, 3 December …"``."""
    shown = ", ".join(day_words(day, year=False) for day in days)
    return f"{words}: {shown}{' …' if len(days) > 1 else ''}" if shown else words


def played_lines(past: PastDate, today: date, width: int) -> list[list[Span]]:
    """Say which date is meant and how to answer."""
    on = f"{weekday_words(past.on, year=False)}, {ago(past.on, today)}"
    number = counted(len(past.tunes), "tune")
    return [
        [(cell(on, width), "strong")],
        *wrapped(f"{number} were meant for it. What was played counts as met.", width, "quiet"),
    ]


def played_spans(row: Played, width: int) -> list[Span]:
    """Write a tune, a full note before one that was played."""
    mark, role = ("● ", "bright") if row.played else ("○ ", "quiet")
    said = "played there" if row.played else ""
    return [(mark, role), (cell(row.title, max(0, width - 16)), ""), (cell(said, 14), role)]
