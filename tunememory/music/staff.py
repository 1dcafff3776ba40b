"""A start on a five-line staff, drawn with characters.

A row of text is one place of the staff, a line or a space, so a reader of music finds every note
where it is printed. Pure functions: notes and a width in, rows of text out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.music.key import alters_of
from tunememory.music.metre import cut_bars, group_quarters
from tunememory.music.spelling import BarAccidentals
from tunememory.text import UNICODE, Charset

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.music.key import Key
    from tunememory.music.metre import Piece
    from tunememory.music.pitch import Pitch
    from tunememory.music.tune import Start


MIDDLE = 34
"""Staff place of the middle line, B4 (``Pitch.step``)."""

_WHOLE = Fraction(4)
_VALUES = tuple(
    (dotted, plain, dots)
    for plain in (_WHOLE / 2**power for power in range(6))
    for dotted, dots in ((plain * 7 / 4, 2), (plain * 3 / 2, 1), (plain, 0))
)
"""Lengths that one note can have, in quarters: with its dots, without, number of dots."""

_TRIPLET = Fraction(2, 3)


@dataclass(slots=True)
class Head:
    """One note head.

    Attributes:
        note: Number of the note in the start.
        pitch: Where it stands.
        sign: Semitones of the accidental written before it, ``None`` for none.
        value: Length without dots in quarters: 4 is a whole note, 1/2 an eighth.
        dots: Number of dots.
        tied: A tie leads to the next head.
        first: It begins its note (a note may need several tied heads).
        triplet: One of three in the time of two.
    """

    note: int
    pitch: Pitch
    sign: int | None
    value: Fraction
    dots: int
    tied: bool
    first: bool
    triplet: bool = False

    @property
    def flags(self) -> int:
        """Flags or beams of its stem: 0 for a quarter and longer."""
        flags = 0
        value = self.value
        while value < 1:
            value *= 2
            flags += 1
        return flags


@dataclass(slots=True)
class Group:
    """Heads that one beam joins, or a single head."""

    heads: list[Head] = field(default_factory=list)

    @property
    def up(self) -> bool:
        """Whether the stems point up: when the note farthest from the middle is below it."""
        steps = [head.pitch.step for head in self.heads]
        return MIDDLE - min(steps) > max(steps) - MIDDLE


@dataclass(frozen=True, slots=True)
class Measure:
    """The groups of one bar; ``closed`` when a bar line stands after them."""

    groups: tuple[Group, ...]
    closed: bool


def measures_of(start: Start, key: Key | None, metre: str) -> tuple[Measure, ...]:
    """Set a start in notes as they are written.

    An accidental holds to the end of its bar on its own line or space, and is written again only
    where it changes; in another octave it is written too, and so is the natural after it.
    """
    measures = []
    number = -1
    accidentals = BarAccidentals(alters_of(key), by_place=True)
    for bar in cut_bars(start.notes, start.pickup, metre):
        accidentals.end_bar()
        heads: list[tuple[Fraction, Head]] = []
        for piece in bar.pieces:
            number += not piece.held
            heads.extend(_heads(piece, number, accidentals))
        measures.append(Measure(tuple(_groups(heads, group_quarters(metre))), bar.closed))
    return tuple(measures)


def _heads(
    piece: Piece, number: int, accidentals: BarAccidentals
) -> Iterator[tuple[Fraction, Head]]:
    """Heads that together last as long as the piece, each with its place in the bar."""
    sign = None if piece.held else accidentals.before(piece.pitch)
    left, at, first = piece.quarters, piece.at, not piece.held
    triplet = left.denominator % 3 == 0
    if triplet:
        left /= _TRIPLET
    while left > 0:
        length, value, dots = next(
            (found for found in _VALUES if found[0] <= left), (left, _VALUES[-1][1], 0)
        )
        left -= length
        yield (
            at,
            Head(number, piece.pitch, sign, value, dots, left > 0 or piece.tied, first, triplet),
        )
        at += length * _TRIPLET if triplet else length
        sign, first = None, False


def _groups(heads: Sequence[tuple[Fraction, Head]], beat: Fraction) -> Iterator[Group]:
    """Join neighbours shorter than a quarter that begin in the same beat."""
    group = Group()
    group_beat = -1
    for at, head in heads:
        joins = (
            group.heads
            and head.flags
            and group.heads[-1].flags
            and at // beat == group_beat
            and head.triplet == group.heads[-1].triplet
        )
        if not joins:
            if group.heads:
                yield group
            group, group_beat = Group(), at // beat
        group.heads.append(head)
    if group.heads:
        yield group


_LINES = (30, 32, 34, 36, 38)
"""Staff places of the five lines, E4 to F5."""

_STEM = 3
"""Rows from a head to the end of its stem: an octave in print, but rows are tall."""

_SHARPS = {"F": 38, "C": 35, "G": 39, "D": 36, "A": 33, "E": 37, "B": 34}
_FLATS = {"B": 34, "E": 37, "A": 33, "D": 36, "G": 32, "C": 35, "F": 31}
"""Where the signs of a key stand in the treble clef, in their order."""

_LEAST_GAP, _MOST_GAP = 2, 4
"""Columns from one head to the next, or to its accidental."""


@dataclass(frozen=True, slots=True)
class Staff:
    """One drawn line of music.

    Attributes:
        rows: From top to bottom, all equally wide.
        columns: Column of the head of each note that begins on this staff.
        first: Number of the first note that begins on this staff.
    """

    rows: tuple[str, ...]
    columns: tuple[int, ...]
    first: int

    def labelled(self, labels: Sequence[str]) -> str:
        """A row of text with each note's label under its head.

        Args:
            labels: One for each note of the whole start. A sign in front of a letter stands left
                of the head.
        """
        row = ""
        for place, column in enumerate(self.columns):
            label = labels[self.first + place]
            start = column - (len(label) - len(label.lstrip("^_=#b")) if len(label) > 1 else 0)
            row = row.ljust(start) if len(row) < start else row + " " * bool(row)
            row += label
        return row


def draw_staff(
    start: Start,
    key: Key | None,
    metre: str,
    *,
    width: int = 78,
    room: Sequence[int] = (),
    charset: Charset = UNICODE,
) -> tuple[Staff, ...]:
    """Draw a start in the treble clef.

    On one staff where it fits, else on several, broken at bar lines.

    Args:
        start: One without notes gives an empty staff.
        key: The tune's key, for the signature; the start's own goes before it.
        metre: As in ABC ``M:``; written where it is known, and it decides the bar lines.
        width: Columns to keep within, at least 24. A single bar wider than that is let stand.
        room: Columns each note needs for what will be written under it, the blank included.
        charset: ``UNICODE`` or ``ASCII``.
    """
    key = start.key or key
    measures = measures_of(start, key, metre)

    def drawn(some: Sequence[Measure], gap: int, metre: str) -> Staff:
        sheet = _Sheet(charset, room, gap)
        sheet.clef()
        sheet.signature(key)
        sheet.metre(metre)
        for measure in some:
            for group in measure.groups:
                sheet.group(group)
            if measure.closed:
                sheet.bar_line()
        return sheet.staff()

    for gap in range(_MOST_GAP, _LEAST_GAP, -1):
        staff = drawn(measures, gap, metre)
        if len(staff.rows[0]) <= width:
            return (staff,)
    staves: list[Staff] = []
    taken: list[Measure] = []
    for measure in measures:
        longer = drawn([*taken, measure], _LEAST_GAP, "" if staves else metre)
        if taken and len(longer.rows[0]) > width:
            staves.append(drawn(taken, _LEAST_GAP, "" if staves else metre))
            taken = []
        taken.append(measure)
    staves.append(drawn(taken, _LEAST_GAP, "" if staves else metre))
    return tuple(staves)


class _Sheet:
    """Characters by column and staff place; drawn from left to right."""

    def __init__(self, charset: Charset, room: Sequence[int], gap: int) -> None:
        self._signs = charset
        self._room = room
        self._gap = gap
        self._ink: dict[tuple[int, int], str] = {}
        self._at = 0
        # Column up to which the last note's label reaches.
        self._taken = 0
        self._columns: list[int] = []
        self._first: int | None = None
        self._tied: tuple[int, int] | None = None

    def clef(self) -> None:
        for step, row in self._signs.clef:
            for column, sign in enumerate(row):
                if sign != " ":
                    self._ink[column + 1, step] = sign
        self._at = 1 + max(len(row) for _, row in self._signs.clef) + 1

    def signature(self, key: Key | None) -> None:
        alters = alters_of(key)
        for places, sharp in ((_SHARPS, True), (_FLATS, False)):
            for letter, step in places.items():
                if alters[letter] and (alters[letter] > 0) == sharp:
                    self._write(self._at, step, self._signs.signs[alters[letter] + 2])
                    self._at += 1
        self._at += any(alters.values())

    def metre(self, metre: str) -> None:
        text = "".join(metre.split())
        if text.upper() in {"C", "C|"}:
            self._write(self._at, MIDDLE, "C" if len(text) == 1 else self._signs.cut)
            self._at += len(self._signs.cut) + 1
            return
        above, stroke, below = text.strip("()").partition("/")
        if stroke and below.isdigit():
            above = above.rstrip(")")
            wide = max(len(above), len(below))
            self._write(self._at, MIDDLE + 2, above.center(wide).rstrip())
            self._write(self._at, MIDDLE - 2, below.center(wide).rstrip())
            self._at += wide + 1

    def group(self, group: Group) -> None:
        columns = [self._head(head) for head in group.heads]
        steps = [head.pitch.step for head in group.heads]
        up = group.up
        # Stems of notes far from the staff reach its middle line.
        end = max(max(steps) + _STEM, MIDDLE) if up else min(min(steps) - _STEM, MIDDLE)
        for column, head in zip(columns, group.heads, strict=True):
            if head.value < 4:
                self._stem(column, head.pitch.step, end)
        if len(group.heads) > 1:
            self._beams(group.heads, columns, end)
        else:
            for flag in range(group.heads[0].flags):
                sign = self._signs.flag_up if up else self._signs.flag_down
                self._ink[columns[0] + 1, end - flag if up else end + flag] = sign
        self._triplets(group, columns, end + (1 if up else -1))

    def _head(self, head: Head) -> int:
        """Draw a head with what belongs to it; return its column."""
        sign = "" if head.sign is None else self._signs.signs[head.sign + 2]
        before = len(sign) or (1 if _ledgers(head.pitch.step) else 0)
        column = max(self._at + before, self._taken)
        step = head.pitch.step
        for ledger in _ledgers(step):
            for place in (column - 1, column, column + 1):
                self._ink.setdefault((place, ledger), self._signs.line)
        self._ink[column, step] = self._signs.hollow if head.value > 1 else self._signs.head
        if sign:
            self._write(column - len(sign), step, sign)
        for dot in range(head.dots):
            # The dot of a note on a line stands in the space above it.
            self._ink[column + 1 + dot, step + (step % 2 == 0)] = self._signs.dot
        self._tie(column, head)
        if self._first is None:
            self._first = head.note + (not head.first)
        if head.first:
            self._columns.append(column)
            wanted = self._room[head.note] if head.note < len(self._room) else 0
            self._taken = column + wanted
        # Ledger lines of neighbours must not run together, nor dots into what follows.
        self._at = column + max(self._gap, 1 + head.dots, 3 if _ledgers(step) else 0)
        return column

    def _tie(self, column: int, head: Head) -> None:
        """Join this head to the one before it where that is tied, or to the staff before."""
        if not head.first:
            begin = column - 2 if self._tied is None else self._tied[0] + 1
            self._tie_cells(range(begin, column), head.pitch.step)
        self._tied = (column, head.pitch.step) if head.tied else None

    def _tie_cells(self, columns: range, step: int) -> None:
        # On the side away from the stem of a single head, behind dots and bar lines.
        for column in columns:
            self._ink.setdefault((column, step + (1 if step >= MIDDLE else -1)), self._signs.tie)

    def _stem(self, column: int, step: int, end: int) -> None:
        for place in range(step + 1, end + 1) if end > step else range(end, step):
            on_line = place in _LINES or self._ink.get((column, place)) == self._signs.line
            self._ink[column, place] = self._signs.cross if on_line else self._signs.bar

    def _beams(self, heads: Sequence[Head], columns: Sequence[int], end: int) -> None:
        for column in range(columns[0], columns[-1] + 1):
            self._ink[column, end] = self._signs.beams[0]
        for place, (head, column) in enumerate(zip(heads, columns, strict=True)):
            if head.flags < 2:
                continue
            before = heads[place - 1].flags if place else 0
            after = heads[place + 1].flags if place + 1 < len(heads) else 0
            # As far as a neighbour of the same value, else a stub towards one inside the group.
            if after >= head.flags:
                cells = range(column, columns[place + 1] + 1)
            elif before:
                cells = range(column - (before < head.flags), column + 1)
            else:
                cells = range(column, column + 2)
            for cell in cells:
                self._ink[cell, end] = self._signs.beams[min(head.flags, 3) - 1]

    def _triplets(self, group: Group, columns: Sequence[int], row: int) -> None:
        """A 3 over every three that stand for two."""
        for place in range(1, len(columns), 3):
            if group.heads[place].triplet:
                self._ink[columns[place], row] = "3"

    def bar_line(self) -> None:
        column = max(self._at, self._taken - 1)
        for step in range(_LINES[0], _LINES[-1] + 1):
            self._ink[column, step] = self._signs.cross if step in _LINES else self._signs.bar
        self._ink[column, _LINES[0]] = self._signs.foot
        self._ink[column, _LINES[-1]] = self._signs.top
        self._at = self._taken = column + 2

    def _write(self, column: int, step: int, text: str) -> None:
        for place, sign in enumerate(text):
            self._ink[column + place, step] = sign

    def staff(self) -> Staff:
        if self._tied is not None:
            # It goes on on the next staff.
            self._tie_cells(range(self._tied[0] + 1, self._tied[0] + 3), self._tied[1])
        steps = [step for _, step in self._ink] + list(_LINES)
        width = max(
            self._at, self._taken - 1, 1 + max((column for column, _ in self._ink), default=0)
        )
        rows = []
        for step in range(max(steps), min(steps) - 1, -1):
            blank = self._signs.line if step in _LINES else " "
            rows.append("".join(self._ink.get((column, step), blank) for column in range(width)))
        return Staff(tuple(rows), tuple(self._columns), self._first or 0)


def _ledgers(step: int) -> range:
    """Staff places of the ledger lines that a head needs."""
    if step > _LINES[-1]:
        return range(_LINES[-1] + 2, step + 1, 2)
    return range(_LINES[0] - 2, step - 1, -2)
