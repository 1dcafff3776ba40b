"""What is fading: today, in a week, in a month."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.charset import UNICODE, Charset, charset_here
from tunememory.library.overview import FadingRow, fading_tunes
from tunememory.recall.check import strand_words
from tunememory.recall.state import State, in_ten
from tunememory.ui.actions import bind
from tunememory.ui.canvas import (
    LABEL,
    empty_staff,
    row_of,
    space_of,
    space_words,
    staff_height,
)
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Span, cell, lines, plain
from tunememory.ui.widgets.lists import Lines, RowList
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType


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
    order = [row.tune.uuid for row in ahead[0]]
    each = max(1, -(-len(order) // across))
    words = space_words(gap)
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
    chances = {row.tune.uuid: row.chance for row in rows}
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


ROOMY = 68
"""From this many cells on everything is written out."""


def fading_spans(row: FadingRow, met: str, width: int) -> list[Span]:
    """Write a tune in ``width`` cells, ``met`` saying when it was last asked."""
    roomy = width >= ROOMY
    chance = row.chance
    asked = chance.state is not State.NOT_ASKED
    role = space_of(chance.chance) if asked else "new"
    strand = strand_words(row.strand) if roomy else row.strand
    columns: list[Span] = [
        (cell(strand, 8 if roomy else 4), "quiet"),
        (" " + cell(in_ten(chance.chance, brief=not roomy), 13 if roomy else 9), role),
        (" " + cell(chance.state.value if asked else "", 6), role),
        (" " + cell(met, 13), "quiet"),
    ]
    room = width - sum(len(text) for text, _ in columns) - 1
    return [(cell(row.tune.title, room) + " ", ""), *columns]


NOTHING = (
    "Nothing can fade yet.",
    "",
    "Tunes that are kept or in learning are shown here,",
    "once there is a key, a start or a name to ask for.",
)


class FadingScreen(SessionScreen[None]):
    """The three staves and the list of one of them."""

    HEAD = "Fading"
    CSS = """
    FadingScreen #staves { padding: 1 2; }
    FadingScreen.-short #staves { padding: 0 2; }
    FadingScreen #none { padding: 1 2; height: 1fr; color: $quiet; display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("c", "check", "check", "Ask for this tune now"),
        bind("left", "ahead(-1)", "sooner", "Look less far ahead", key="←"),
        bind("right", "ahead(1)", "later", "Look further ahead", key="→"),
        bind("h", "app.open('how_well')", "how well", "See how well we guess"),
        bind("y", "app.open('forecast')", "a year", "Look a year ahead"),
        bind("escape,q", "dismiss", "back", "Go back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._chosen = 0
        self._ahead: list[tuple[FadingRow, ...]] = [()] * len(HORIZONS)

    def body(self) -> ComposeResult:
        """Staves over the list."""
        yield Lines(id="staves")
        yield RowList(self._write)
        yield Static(lines(*(plain(row) for row in NOTHING)), id="none")

    def fill(self) -> None:
        """Show today; the staves of later days follow once it stands there."""
        self._ahead = [fading_tunes(self.session), *self._ahead[1:]]
        self.call_after_refresh(self._look_ahead)
        rows = self.query_one(RowList)
        some = bool(self._ahead[0])
        self.query_one("#staves").display = rows.display = some
        self.query_one("#none").display = not some
        if some:
            self._show()
            rows.focus()
        self.refresh_bindings()

    def _write(self, row: FadingRow, width: int) -> list[Span]:
        last = row.chance.last_checked
        met = (
            "not asked yet" if last is None else ago(self.session.day_of(last), self.session.day())
        )
        return fading_spans(row, met, width)

    def _look_ahead(self) -> None:
        self._ahead = [
            self._ahead[0],
            *(fading_tunes(self.session, days) for days, _ in HORIZONS[1:]),
        ]
        if self._ahead[0]:
            self._show()

    def _show(self) -> None:
        """Show the list of the chosen day, the cursor on the tune it was on."""
        rows = self.query_one(RowList)
        shown = self._ahead[self._chosen]
        rows.renew(shown, lambda row: row.tune.uuid)
        charset = charset_here()

        def staves(width: int) -> list[list[Span]]:
            gap = 0 if self.size.height < 22 else 1 if self.size.height < 32 else 2
            return staves_lines(self._ahead, self._chosen, width, gap, charset)

        self.query_one("#staves", Lines).show(staves)
        self.head(right=f"{counted(len(shown), 'tune')} {HORIZONS[self._chosen][1]}, weakest first")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done."""
        if action in {"open_tune", "check", "ahead"}:
            return bool(self._ahead[0])
        return super().check_action(action, parameters)

    @on(RowList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.query_one(RowList).current
        if row is not None:
            self.tune_app.open_tune(row.tune.uuid)

    def action_check(self) -> None:
        """Ask for the tune under the cursor."""
        row = self.query_one(RowList).current
        if row is not None:
            self.ask_for(row.tune.uuid)

    def action_ahead(self, steps: int) -> None:
        """Look further ahead, or less far."""
        self._chosen = max(0, min(len(HORIZONS) - 1, self._chosen + steps))
        self._show()
