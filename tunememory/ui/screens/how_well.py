"""How well we guess: what we said against what came."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.containers import VerticalScroll
from textual.worker import Worker, WorkerState

from tunememory.service.desk import open_desk
from tunememory.service.how_well import OWN_LEVEL, HowWell, sentences
from tunememory.ui.actions import bind
from tunememory.ui.canvas import charset_here
from tunememory.ui.desk_screen import DeskScreen, told
from tunememory.ui.drawing_how_well import how_well_lines
from tunememory.ui.drawing_tune import wrapped
from tunememory.ui.text import say
from tunememory.ui.widgets.lines import Lines
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.ui.text import Span

WIDEST = 96
"""Cells of a line to read at most."""


class HowWellScreen(DeskScreen[None]):
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
        with open_desk(self.desk.path, self.desk.clock) as desk:
            return desk.how_well()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what was found, or say why nothing was."""
        if event.worker is not self._worker:
            return
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, HowWell):
            self._show(event.worker.result)
        elif event.state is WorkerState.ERROR and event.worker.error is not None:
            if not told(event.worker.error):
                raise event.worker.error
            say(self.tune_app, str(event.worker.error), "error")

    def _show(self, found: HowWell) -> None:
        self.head(right=counted(found.checks, "cold check"))
        charset = charset_here(getattr(sys.__stdout__, "encoding", None) or "utf-8")

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
