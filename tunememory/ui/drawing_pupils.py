"""Pupils as lines: the tunes of one, and who has which."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.pupils import Standing
from tunememory.tunes.check import START_WORDS
from tunememory.ui.drawing_tune import one_start, wrapped
from tunememory.ui.text import bare, cell
from tunememory.ui.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.service.lessons import LessonRow
    from tunememory.service.pupils import Table
    from tunememory.ui.text import Span

ROOMY = 68
"""From this many cells on the kind of a tune stands beside its key."""

SIGNS = {True: ("●", "strong"), False: ("○", ""), None: ("·", "staff")}
"""Can start it, has it, has it not."""

LEGEND = "● can start it   ○ has it   · has it not"

_STANDING = 11
_WORDS = 18
_MARK = {
    Standing.GIVEN: "bright",
    Standing.MEND: "rusty",
    Standing.NOT_ASKED: "new",
    Standing.LATER: "quiet",
}


def lesson_spans(row: LessonRow, today: date, width: int) -> list[Span]:
    """Write a tune of a pupil: how it stands, what it is, how it came in this lesson.

    A tune that was not asked in it yet says instead when it was given.

    Args:
        row: The tune.
        today: The present practice day.
        width: Cells across.
    """
    facts = 14 if width >= ROOMY else 6
    room = max(8, width - _STANDING - facts - _WORDS)
    about = " ".join(filter(None, (row.key, row.kind if facts > 6 else "")))
    last: Span = (ago(row.since, today) if row.standing is Standing.GIVEN else "", "quiet")
    if row.marked:
        last = (START_WORDS[row.marked], "strong")
    return [
        (cell(row.standing.value, _STANDING), _MARK.get(row.standing, "")),
        (cell(row.title, room), "quiet" if row.standing is Standing.LATER else ""),
        (cell(f" {about}", facts), "quiet"),
        (cell(f" {last[0]}", _WORDS), last[1]),
    ]


def lesson_words(rows: Sequence[LessonRow]) -> str:
    """Say what a pupil's list holds: ``"3 given · 2 to mend"``."""
    held = [(standing, sum(row.standing is standing for row in rows)) for standing in Standing]
    said = [f"{number} {standing.value}" for standing, number in held if number]
    return " · ".join(said[:3]) or counted(0, "tune")


def starts_under(row: LessonRow | None, width: int, most: int) -> list[list[Span]]:
    """Write the starts of the tune under the cursor, at most so many lines."""
    if row is None:
        return []
    lines = [line for start in row.starts for line in one_start(start, width)]
    return lines[:most] or [[("no start written down yet", "quiet")]]


def table_spans(title: str, marks: Sequence[bool | None], width: int, first: int = 0) -> list[Span]:
    """Write who has a tune: a sign for each file.

    Args:
        title: Of the tune.
        marks: For each file whether it can be started, ``None`` where it is not.
        width: Cells across.
        first: The file whose sign comes first, where not all have room.
    """
    shown = marks[first : first + columns_in(width)]
    room = max(8, width - 3 * len(shown))
    return [
        (cell(title, room), ""),
        *((f"  {sign}", role) for sign, role in (SIGNS[mark] for mark in shown)),
    ]


def columns_in(width: int) -> int:
    """Return how many files have room beside a title."""
    return max(1, (width - 24) // 3)


def table_head(table: Table, width: int, first: int = 0) -> list[list[Span]]:
    """Write the numbers of the files, and their names."""
    last = min(len(table.names), first + columns_in(width))
    room = max(8, width - 3 * (last - first))
    # The number stays with its name where the line is broken.
    names = ", ".join(
        f"{n}\N{NO-BREAK SPACE}{bare(table.names[n - 1])}" for n in range(first + 1, last + 1)
    )
    numbers = "".join(f"{n:>3}" for n in range(first + 1, last + 1))
    return [*wrapped(names, width, "quiet"), [(" " * room + numbers, "strong")]]


def table_words(table: Table) -> str:
    """Say how many tunes all can start: ``"3 tunes all can start"``."""
    everyone = sum(all(marks) for _, marks in table.rows)
    return f"{counted(everyone, 'tune')} all can start" if table.names else ""
