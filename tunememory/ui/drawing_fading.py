"""The repertoire on three staves side by side: today, in a week, in a month."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.views import State
from tunememory.ui.canvas import UNICODE, Charset, empty_staff, row_of, space_row, staff_height
from tunememory.ui.drawing_memory import LABEL, SPACES, space_of
from tunememory.ui.text import Span, cell
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.views import FadingRow

HORIZONS = ((0, "today"), (7, "in a week"), (30, "in a month"))
"""Days ahead and what they are called."""

BETWEEN = 3
"""Cells between two staves."""

WIDEST = 40
"""Cells of one staff at most; a note moves too little on a wider one to be followed."""


def staves_lines(
    ahead: Sequence[Sequence[FadingRow]],
    chosen: int,
    width: int,
    gap: int,
    charset: Charset = UNICODE,
) -> list[list[Span]]:
    """Draw the three staves, the names of the states on their left.

    The tunes stand in the order of today's chance, weakest on the left, and keep their place in
    all three, so that the row of notes is seen to sink. Where there are more tunes than columns
    a note is the middle one of its neighbours.

    Args:
        ahead: The fading lists of ``HORIZONS``, one each.
        chosen: Which of them the list below shows.
        width: Cells across.
        gap: Rows between two staff lines, 0 to 3.
        charset: Signs to draw with.
    """
    across = min(WIDEST, (width - LABEL - BETWEEN * (len(ahead) - 1)) // len(ahead))
    order = [row.tune for row in ahead[0]]
    each = max(1, -(-len(order) // across))
    words: dict[int, Span] = {
        space_row(place, gap): (cell(name, LABEL), name)
        for place, name in enumerate(reversed(SPACES))
    }
    heads: list[Span] = [(" " * LABEL, "")]
    for place, (_, name) in enumerate(HORIZONS[: len(ahead)]):
        mark = "▸ " if place == chosen else "  "
        space = BETWEEN if place < len(ahead) - 1 else 0
        heads.append(
            (cell(mark + name, across) + " " * space, "accent" if place == chosen else "quiet")
        )
    lines: list[list[Span]] = [heads]
    pictures = [_staff(order, rows, across, each, gap, charset) for rows in ahead]
    for y in range(staff_height(gap)):
        line = [words.get(y, (" " * LABEL, ""))]
        for place, picture in enumerate(pictures):
            if place:
                line.append((" " * BETWEEN, ""))
            line.extend(picture[y])
        lines.append(line)
    if each > 1:
        lines.append([(" " * LABEL + f"one note is {counted(each, 'tune')}", "quiet")])
    return lines


def _staff(
    order: list[str], rows: Sequence[FadingRow], across: int, each: int, gap: int, charset: Charset
) -> list[list[Span]]:
    chances = {row.tune: row.chance for row in rows}
    grid = empty_staff(across, gap, (), charset)
    groups = [order[first : first + each] for first in range(0, len(order), each)]
    for place, group in enumerate(groups):
        middle = sorted(
            (chances[tune] for tune in group if tune in chances), key=lambda c: c.chance
        )
        if not middle:
            continue
        chance = middle[len(middle) // 2]
        asked = chance.state is not State.NOT_ASKED
        # Few tunes spread over the staff, many fill it.
        x = (2 * place + 1) * across // (2 * len(groups))
        role = space_of(chance.chance) if asked else "new"
        grid.put(x, row_of(chance.chance, gap), charset.head if asked else charset.hollow, role)
    return grid.rows()
