"""A year ahead on the staff: how surely the average tune would come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.looking_ahead import assumed, sentence
from tunememory.ui.drawing_bar import bar_row
from tunememory.ui.drawing_memory import curve_lines
from tunememory.ui.drawing_tune import wrapped

if TYPE_CHECKING:
    from tunememory.service.looking_ahead import YearAhead
    from tunememory.ui.drawing_memory import Point
    from tunememory.ui.text import Span


def year_lines(found: YearAhead, width: int, rows_a_space: int) -> list[list[Span]]:
    """Draw the year: the chance of the average tune with its range, a sentence, what it assumes.

    Args:
        found: The year.
        width: Cells across.
        rows_a_space: Rows from one staff line to the next.
    """
    return [
        *curve_lines(average_curve(found), width, rows_a_space),
        [],
        *wrapped(sentence(found), width, "strong"),
        *wrapped(assumed(found), width, "quiet"),
    ]


def average_curve(found: YearAhead) -> list[Point]:
    """Return the chance of the average tune with its range, by day."""
    return [
        (float(p.day), p.middle / p.tunes, p.low / p.tunes, p.high / p.tunes) for p in found.points
    ]


def living_lines(share: float, width: int) -> list[list[Span]]:
    """Draw how much of the year has been lived."""
    return [bar_row(share, width), [(f"living the year, {100 * share:.0f} in 100", "quiet")]]
