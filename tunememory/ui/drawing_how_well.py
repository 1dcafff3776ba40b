"""What was said against what came, on the staff and as a table.

Each step of what was said has its columns, low chances on the left. A ring stands at the height
that was said, a note at the height that came, a line through the range of the note. Where we
guess right the notes cover the rings.
"""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING

from tunememory.ui.canvas import UNICODE, Charset, empty_staff, row_of, space_row, staff_height
from tunememory.ui.drawing_memory import LABEL, SPACES, merged, space_of
from tunememory.ui.text import Span, cell, width_of
from tunememory.ui.words import figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.how_well import SaidStep

STEPS = 10
BETWEEN = 3
TABLE = 26
"""Cells between picture and table, and of the table."""

GAP = 1
"""Rows between two staff lines; picture and table are then equally tall."""

HEADS = ("said", "came", "range", "checks")
WIDTHS = (4, 5, 9, 8)


def how_well_lines(
    steps: Sequence[SaidStep], width: int, charset: Charset = UNICODE
) -> list[list[Span]]:
    """Draw picture and table side by side; in less than 53 cells the table alone.

    Args:
        steps: Steps that have checks, lowest chance first.
        width: Cells across.
        charset: Signs to draw with.
    """
    table = table_lines(steps)
    cells = (width - LABEL - BETWEEN - TABLE) // STEPS
    if cells < 2:
        return table
    cells = min(cells, 4)
    picture = staff_lines(steps, cells, charset)
    across = LABEL + cells * STEPS
    lines = []
    for left, right in zip_longest(picture, table, fillvalue=None):
        begin = left if left is not None else [(" " * across, "")]
        lines.append([*begin, (" " * BETWEEN, ""), *(right or [])])
    return lines


def staff_lines(
    steps: Sequence[SaidStep], cells: int, charset: Charset = UNICODE
) -> list[list[Span]]:
    """Draw the staff, ``cells`` columns a step, a legend above and the scale beneath it."""
    across = cells * STEPS
    grid = empty_staff(across, GAP, (), charset, foot=1)
    for step in steps:
        x = round(step.begin * STEPS) * cells + cells // 2
        for y in range(row_of(step.high, GAP), row_of(step.low, GAP) + 1):
            grid.put(x, y, charset.bar, "quiet")
        grid.put(x, row_of(step.said, GAP), charset.ghost, "accent")
        came = charset.head if step.enough else charset.hollow
        grid.put(x, row_of(step.came, GAP), came, space_of(step.came))
    scale = _ends("said 0", "10 in 10", across)
    grid.write(0, staff_height(GAP), scale, "quiet")
    words = {
        space_row(place, GAP): (cell(name, LABEL), name)
        for place, name in enumerate(reversed(SPACES))
    }
    signs = f"{charset.head} came {charset.ghost} said {charset.bar} range"
    legend = cell(signs, LABEL + across)
    rows = [merged([words.get(y, (" " * LABEL, "")), *row]) for y, row in enumerate(grid.rows())]
    return [[(legend, "quiet")], *rows]


def table_lines(steps: Sequence[SaidStep]) -> list[list[Span]]:
    """Write the numbers, in a hundred, high chances first; steps with few checks in grey."""
    lines: list[list[Span]] = [[(_row(HEADS), "quiet")]]
    for step in reversed(steps):
        band = f"{100 * step.low:.0f}–{100 * step.high:.0f}"
        checks = figures(round(step.checks)) if step.checks >= 0.5 else "<1"
        row = _row((f"{100 * step.said:.0f}", f"{100 * step.came:.0f}", band, checks))
        lines.append([(row, "" if step.enough else "quiet")])
    return lines


def _row(values: Sequence[str]) -> str:
    return "".join(cell(value, width, "right") for value, width in zip(values, WIDTHS, strict=True))


def _ends(left: str, right: str, across: int) -> str:
    return left + " " * max(1, across - width_of(left) - width_of(right)) + right
