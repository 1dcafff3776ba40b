"""Memory drawn on a five-line staff with characters: a tune's curve, every tune as a note head.

Pure functions of data, width, height and character set. A picture is a list of rows, a row a list
of ``(text, role)`` spans that together are exactly as wide as asked. Roles name what a span is
(``"staff"``, ``"fading"``, ``""`` for plain ink); how a role looks is the theme's business, and no
role is told apart by colour alone.

Each of the four spaces of the staff is one state, its lines the chances between them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from tunememory.recall.state import FADING, RUSTY, SAFE, State, in_ten, state_of
from tunememory.text import UNICODE, Charset
from tunememory.ui.text import cell
from tunememory.words import ahead

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tunememory.ui.text import Span


LINES = (0.0, RUSTY, FADING, SAFE, 1.0)
"""Chance at each staff line, bottom line first."""

SPACES = tuple(s.value for s in (State.LOST, State.RUSTY, State.FADING, State.SAFE))
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
    return state_of(chance).value


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


Row = list["Span"]


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


def space_words(gap: int) -> dict[int, Span]:
    """Names of the spaces, ``LABEL`` cells each, by the row of the staff they stand beside."""
    named = enumerate(reversed(SPACES))
    return {space_row(place, gap): (cell(name, LABEL), name) for place, name in named}


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


WIDEST = 60
"""Cells of the line at most."""


def bar_row(share: float, width: int) -> list[Span]:
    """Draw the share done, 0 to 1, in at most ``width`` cells."""
    across = min(WIDEST, width)
    filled = round((across - 1) * min(1.0, max(0.0, share)))
    return [("━" * filled, "accent"), ("●", "accent"), ("─" * (across - 1 - filled), "staff")]
