"""The whole repertoire as note heads on a five-line staff, drawn with characters.

Pure functions of data, width, height and character set. A picture is a list of rows, a row a list
of ``(text, role)`` spans that together are exactly as wide as asked. Roles name what a span is
(``"staff"``, ``"fading"``, ``""`` for plain ink); how a role looks is the theme's business, and no
role is told apart by colour alone.

Lines and spaces mean what they mean in ``drawing_memory``: each of the four spaces is one state.
"""

from __future__ import annotations

import os
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from tunememory.ui.drawing_memory import SPACES, height_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tunememory.ui.text import Span

Row = list["Span"]


class Charset(NamedTuple):
    """The signs pictures are drawn with, each one cell wide.

    Attributes:
        line: A staff line through the middle of a cell.
        low_line: A staff line along the bottom of a cell.
        bar: A bar line in a space; ``cross``, ``top`` and ``foot`` where it meets a line.
        head: A tune that was asked; ``hollow`` one that was not yet.
        ghost: Where a head stood before.
    """

    line: str
    low_line: str
    bar: str
    cross: str
    top: str
    foot: str
    head: str
    hollow: str
    ghost: str


UNICODE = Charset("─", "▁", "│", "┼", "┬", "┴", "●", "○", "◌")
ASCII = Charset("-", "_", "|", "+", "+", "+", "@", "o", ".")


def charset_here(encoding: str, environment: Mapping[str, str] = os.environ) -> Charset:
    """Choose signs for a terminal: plain ones without UTF-8 or on the bare Linux console.

    Args:
        encoding: Encoding of the terminal's output, ``"utf-8"``.
        environment: Where ``TERM`` is looked up.
    """
    utf8 = encoding.lower().replace("_", "-") in {"utf-8", "utf8"}
    bare_console = environment.get("TERM", "") in {"linux", "vt100", "vt220", "dumb"}
    return UNICODE if utf8 and not bare_console else ASCII


class Grid:
    """Cells with a sign and a role each.

    Args:
        width: Cells across, at least 0.
        height: Rows.
    """

    def __init__(self, width: int, height: int) -> None:
        self.width = max(0, width)
        self.height = max(0, height)
        self._signs = [[" "] * self.width for _ in range(self.height)]
        self._roles = [[""] * self.width for _ in range(self.height)]

    def put(self, x: int, y: int, sign: str, role: str = "") -> None:
        """Write one sign; outside the grid nothing happens."""
        if 0 <= x < self.width and 0 <= y < self.height:
            self._signs[y][x] = sign
            self._roles[y][x] = role

    def write(self, x: int, y: int, text: str, role: str = "") -> None:
        """Write signs of one cell each from ``x`` on."""
        for place, sign in enumerate(text):
            self.put(x + place, y, sign, role)

    def rows(self) -> list[Row]:
        """Return the picture as spans."""
        picture: list[Row] = []
        for signs, roles in zip(self._signs, self._roles, strict=True):
            row: Row = []
            start = 0
            for role, run in groupby(roles):
                end = start + len(list(run))
                row.append(("".join(signs[start:end]), role))
                start = end
            picture.append(row)
        return picture


def staff_height(gap: int) -> int:
    """Rows of a staff with ``gap`` rows between its lines; 0 is the close staff of five rows."""
    return 5 + len(SPACES) * gap


def row_of(chance: float, gap: int) -> int:
    """Row of the staff, counted from its top, where a chance stands.

    On the close staff every row below the first is one space, so a head stands in its state.
    """
    if gap == 0:
        return len(SPACES) - min(len(SPACES) - 1, int(height_of(chance)))
    return round((len(SPACES) - height_of(chance)) * (gap + 1))


def space_row(space: int, gap: int) -> int:
    """Middle row of a space, 0 the top one: where a word about it stands."""
    return 1 + space if gap == 0 else space * (gap + 1) + (gap + 1) // 2


def empty_staff(
    width: int, gap: int, bars: Iterable[int] = (), charset: Charset = UNICODE, foot: int = 0
) -> Grid:
    """Return a staff with bar lines at the given columns.

    Args:
        width: Cells across.
        gap: Rows between two lines, 0 to 3.
        bars: Columns of bar lines.
        charset: Signs to draw with.
        foot: Empty rows below the staff, for letters.
    """
    height = staff_height(gap)
    grid = Grid(width, height + foot)
    lines = range(height) if gap == 0 else range(0, height, gap + 1)
    for y in lines:
        grid.write(0, y, (charset.low_line if gap == 0 else charset.line) * width, "staff")
    for x in bars:
        for y in range(1 if gap == 0 else 0, height):
            on_line = gap > 0 and y in lines
            sign = charset.bar if not on_line else charset.cross
            if gap > 0 and y == 0:
                sign = charset.top
            elif gap > 0 and y == height - 1:
                sign = charset.foot
            grid.put(x, y, sign, "staff")
    return grid


class Head(NamedTuple):
    """A tune as a note head.

    Attributes:
        group: What it is gathered by, written beneath: the root.
        chance: 0 to 1.
        role: Its state as a role.
        asked: ``False`` draws it hollow.
    """

    group: str
    chance: float
    role: str
    asked: bool = True


class Picture(NamedTuple):
    """The repertoire on a staff. One head stands for up to ``each`` tunes."""

    rows: list[Row]
    each: int


def repertoire_staff(
    heads: Sequence[Head], width: int, gap: int, charset: Charset = UNICODE
) -> Picture:
    """Draw every tune as a head, gathered by root, with the roots beneath.

    A tune keeps its place from day to day and only slides up and down: places follow the order
    of ``heads`` within a group. Where more tunes meet in one row of a group than it has columns,
    one head stands for several, the same number everywhere in the picture.
    """
    found: dict[str, list[Head]] = {}
    for head in heads:
        found.setdefault(head.group, []).append(head)
    groups = {group: found[group] for group in sorted(found, key=_unknown_last)}
    if not groups or width < 3 * len(groups):
        return Picture(empty_staff(width, gap, (), charset, foot=1).rows(), 1)
    widths = _shares({group: len(members) for group, members in groups.items()}, width)
    bars: list[int] = []
    edge = 0
    for share in list(widths.values())[:-1]:
        edge += share
        bars.append(edge - 1)
    grid = empty_staff(width, gap, bars, charset, foot=1)

    placed = {group: _by_row(members, gap) for group, members in groups.items()}
    each = max(
        -(-len(same) // (widths[group] - 1))
        for group, rows in placed.items()
        for same in rows.values()
    )
    left = 0
    for group, members in groups.items():
        room = widths[group] - 1
        for row, same in placed[group].items():
            taken: set[int] = set()
            for first in range(0, len(same), each):
                place, head = same[first]
                x = _free(place * room // len(members), room, taken)
                taken.add(x)
                sign = charset.head if head.asked else charset.hollow
                grid.put(left + x, row, sign, head.role)
        label = group if len(group) <= room else group[:room]
        grid.write(left + (room - len(label)) // 2, staff_height(gap), label, "quiet")
        left += widths[group]
    return Picture(grid.rows(), each)


def _unknown_last(group: str) -> tuple[bool, str]:
    return (not group[:1].isalpha(), group)


def _by_row(members: Sequence[Head], gap: int) -> dict[int, list[tuple[int, Head]]]:
    rows: dict[int, list[tuple[int, Head]]] = {}
    for place, head in enumerate(members):
        rows.setdefault(row_of(head.chance, gap), []).append((place, head))
    return rows


def _free(wanted: int, room: int, taken: set[int]) -> int:
    """Nearest free column to ``wanted``; to the right first."""
    for step in range(room):
        for x in (wanted + step, wanted - step):
            if 0 <= x < room and x not in taken:
                return x
    return wanted


def _shares(counts: Mapping[str, int], width: int) -> dict[str, int]:
    """Columns of each group, bar line included: at least 3, the rest by number of tunes."""
    spare = width - 3 * len(counts)
    total = sum(counts.values())
    shares = {group: 3 + spare * count // total for group, count in counts.items()}
    largest = sorted(counts, key=lambda group: -counts[group])
    for place in range(width - sum(shares.values())):
        shares[largest[place % len(largest)]] += 1
    return shares
