"""The five-line staff as the picture of memory, and the curve of one tune on it.

The lines are the chances that part the states, so that the four spaces are the states: a tune in
the top space is safe, below it fading, then rusty, then lost.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING

from tunememory.service.chance_words import in_ten
from tunememory.ui.text import cell
from tunememory.ui.words import ahead

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.text import Span

LINES = (0.0, 0.2, 0.5, 0.8, 1.0)
"""Chance at each staff line, bottom line first."""

SPACES = ("lost", "rusty", "fading", "safe")
"""Name of each space of the staff, lowest first; also the role it is written in."""

Point = tuple[float, float, float, float]
"""Days from now, chance, lower and upper end of its range."""

_BRAILLE = 0x2800
_DOTS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
"""Bits of the braille patterns by column and row (Unicode, block U+2800)."""

LABEL = 7
"""Cells of the words left of the staff, a blank included."""


def height_of(chance: float) -> float:
    """Place of a chance on the staff: 0 is the bottom line, 4 the top line.

    >>> height_of(0.5), height_of(0.9)
    (2.0, 3.5)
    """
    chance = min(1.0, max(0.0, chance))
    space = min(len(SPACES) - 1, bisect_right(LINES, chance) - 1)
    low, high = LINES[space], LINES[space + 1]
    return space + round((chance - low) / (high - low), 9)


def space_of(chance: float) -> str:
    """Name of the space of the staff that a chance lies in; a line belongs to the space above."""
    return SPACES[min(len(SPACES) - 1, bisect_right(LINES, max(0.0, chance)) - 1)]


def value_at(curve: Sequence[Point], days: float) -> Point:
    """Read a curve at ``days``, straight between its points, level outside them."""
    places = [point[0] for point in curve]
    right = bisect_left(places, days)
    if right == 0:
        return (days, *curve[0][1:])
    if right == len(curve):
        return (days, *curve[-1][1:])
    before, after = curve[right - 1], curve[right]
    part = (days - before[0]) / (after[0] - before[0])
    chance, low, high = (before[k] + part * (after[k] - before[k]) for k in (1, 2, 3))
    return (days, chance, low, high)


def curve_lines(curve: Sequence[Point], width: int, rows_a_space: int = 2) -> list[list[Span]]:
    """Draw the forgetting curve of one tune on the staff.

    Args:
        curve: At least two points, days rising.
        width: Cells, the words on the left included.
        rows_a_space: Rows from one staff line to the next; the staff is four times that and one.

    Returns:
        The rows of the staff and one row of days under it.
    """
    across = max(8, width - LABEL)
    tall = 4 * rows_a_space + 1
    last_day = curve[-1][0]
    dots = [[0] * across for _ in range(tall)]
    chances = [value_at(curve, last_day * x / (2 * across - 1))[1] for x in range(2 * across)]
    before = _dot(chances[0], rows_a_space)
    for x, chance in enumerate(chances):
        dot = _dot(chance, rows_a_space)
        # The column is filled from where the line was, so that a steep fall stays one line.
        top, bottom = sorted((dot, before + (dot > before) - (dot < before)))
        for y in range(top, bottom + 1):
            dots[y // 4][x // 2] |= _DOTS[x % 2][y % 4]
        before = dot
    ranges = [value_at(curve, last_day * (x + 0.5) / across)[2:] for x in range(across)]
    lines: list[list[Span]] = []
    for row in range(tall):
        on_line = row % rows_a_space == 0
        spans: list[Span] = [_label(row, rows_a_space)]
        for x in range(across):
            low, high = ranges[x]
            shaded = _row(high, rows_a_space) <= row <= _row(low, rows_a_space)
            if dots[row][x]:
                role = space_of(chances[2 * x])
                spans.append((chr(_BRAILLE + dots[row][x]), role))
            elif shaded:
                spans.append(("┅" if on_line else "░", "staff"))
            else:
                spans.append(("─" if on_line else " ", "staff"))
        lines.append(merged(spans))
    lines.append([(" " * LABEL + _days(last_day, across), "quiet")])
    return lines


def curve_sentence(curve: Sequence[Point]) -> str:
    """Say the curve in one sentence, for those who do not read pictures.

    Names today's chance and the next states it falls into, the two nearest at most.
    """
    today = curve[0][1]
    now = in_ten(today)
    falls: list[str] = []
    for name, line in zip(reversed(SPACES[:-1]), reversed(LINES[1:-1]), strict=True):
        if today < line:
            continue
        day = next((point[0] for point in _fine(curve) if point[1] < line), None)
        if day is not None:
            falls.append(f"{name} {ahead(max(1.0, day))}")
    start = f"{now[0].upper()}{now[1:]} today"
    if not falls:
        last = curve[-1]
        return f"{start}; still {in_ten(last[1])} {ahead(last[0])}, if it is left alone."
    return f"{start}; left alone it is {' and '.join(falls[:2])}."


def _fine(curve: Sequence[Point]) -> list[Point]:
    last = int(curve[-1][0])
    return [value_at(curve, float(day)) for day in range(last + 1)]


def _row(chance: float, rows_a_space: int) -> int:
    return round((4 - height_of(chance)) * rows_a_space)


def _dot(chance: float, rows_a_space: int) -> int:
    # A staff line runs through the middle of its row, between the second and third dot.
    return round((4 - height_of(chance)) * rows_a_space * 4 + 1.5)


def _label(row: int, rows_a_space: int) -> Span:
    space, inside = divmod(row, rows_a_space)
    if space < 4 and inside == rows_a_space // 2:
        name = SPACES[3 - space]
        return (cell(name, LABEL), name)
    return (" " * LABEL, "")


def _days(last_day: float, across: int) -> str:
    end = ahead(last_day)
    middle = ahead(last_day / 2)
    line = [" "] * across
    places = [(0, "today")]
    if across >= len("today") + len(end) + 1:
        places.append((across - len(end), end))
    if across >= len("today") + len(middle) + len(end) + 8:
        places.append(((across - len(middle)) // 2, middle))
    for place, word in places:
        line[place : place + len(word)] = word
    return "".join(line)


def merged(spans: list[Span]) -> list[Span]:
    """Join neighbours of one role."""
    kept: list[Span] = []
    for text, role in spans:
        if kept and kept[-1][1] == role:
            kept[-1] = (kept[-1][0] + text, role)
        else:
            kept.append((text, role))
    return kept
