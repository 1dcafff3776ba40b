"""How well we guess: what we said against what came."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.containers import VerticalScroll
from textual.worker import Worker, WorkerState

from tunememory.charset import UNICODE, Charset, charset_here
from tunememory.errors import NotDoneError
from tunememory.forecast.how_well import OWN_LEVEL, HowWell, how_well_guessed, sentences
from tunememory.session import open_session
from tunememory.ui.actions import bind
from tunememory.ui.canvas import (
    LABEL,
    empty_staff,
    merged,
    row_of,
    space_of,
    space_words,
    staff_height,
)
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Span, cell, say, width_of, wrapped
from tunememory.ui.widgets.lists import Lines
from tunememory.words import counted, figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.forecast.how_well import ChanceStep


STEPS = 10
BETWEEN = 3
TABLE = 26
"""Cells between picture and table, and of the table."""

GAP = 1
"""Rows between two staff lines; picture and table are then equally tall."""

HEADS = ("said", "came", "range", "checks")
WIDTHS = (4, 5, 9, 8)


def how_well_lines(
    steps: Sequence[ChanceStep], width: int, charset: Charset = UNICODE
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
    steps: Sequence[ChanceStep], cells: int, charset: Charset = UNICODE
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
    words = space_words(GAP)
    signs = f"{charset.head} came {charset.ghost} said {charset.bar} range"
    legend = cell(signs, LABEL + across)
    rows = [merged([words.get(y, (" " * LABEL, "")), *row]) for y, row in enumerate(grid.rows())]
    return [[(legend, "quiet")], *rows]


def table_lines(steps: Sequence[ChanceStep]) -> list[list[Span]]:
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


WIDEST = 96
"""Cells of a line to read at most."""


class HowWellScreen(SessionScreen[None]):
    """The picture, the table, and a sentence."""

    HEAD = "How well we guess"
    CSS = """
    HowWellScreen #page { margin: 1 1 0 2; height: 1fr; scrollbar-size-vertical: 1; }
    HowWellScreen.-short #page { margin: 0 1 0 2; }
    HowWellScreen Lines { margin-right: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
        bind("y", "app.open('forecast')", "a year ahead", "Look a year ahead"),
        bind("down", "roll(1)", "", "Further down", shown=False, key="↓"),
        bind("up", "roll(-1)", "", "Back up", shown=False, key="↑"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._worker: Worker[HowWell] | None = None

    def body(self) -> ComposeResult:
        """One page that scrolls if it must."""
        with VerticalScroll(id="page", can_focus=False):
            yield Lines(id="found")

    def fill(self) -> None:
        """Look back; the screen stays free meanwhile."""
        self.query_one(Lines).show(lambda width: wrapped("Looking back …", width, "quiet"))
        self._worker = self._look_back()

    @work(thread=True, exclusive=True, group="how well", exit_on_error=False)
    def _look_back(self) -> HowWell:
        with open_session(self.session.path, self.session.clock) as session:
            return how_well_guessed(session)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what was found, or say why nothing was."""
        if event.worker is not self._worker:
            return
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, HowWell):
            self._show(event.worker.result)
        elif event.state is WorkerState.ERROR and event.worker.error is not None:
            if not isinstance(event.worker.error, NotDoneError):
                raise event.worker.error
            say(self.tune_app, str(event.worker.error), "error")

    def _show(self, found: HowWell) -> None:
        self.head(right=counted(found.checks, "cold check"))
        charset = charset_here()

        def draw(width: int) -> list[list[Span]]:
            rows: list[list[Span]] = []
            across = min(width, WIDEST)
            if found.steps:
                rows += [*how_well_lines(found.steps, across, charset), []]
            for sentence in sentences(found):
                rows += wrapped(sentence, across, "strong" if found.enough else "")
            if found.enough and self.size.height >= 24:
                rows += wrapped(_losses(found), across, "quiet")
            return rows + wrapped(OWN_LEVEL, across, "quiet")

        self.query_one(Lines).show(draw)

    def action_roll(self, rows: int) -> None:
        """Move by lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=rows, animate=False)


def _losses(found: HowWell) -> str:
    return (
        f"Mean surprise (log loss) {found.log_loss:.2f}, always the average "
        f"{found.average_log_loss:.2f}; less is better."
    )
