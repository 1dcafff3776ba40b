"""The four levels on a small staff; the note head of the last tune moves on it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from textual.content import Content
from textual.widget import Widget

from tunememory.ui.canvas import charset_here
from tunememory.ui.drawing_round import ladder_lines
from tunememory.ui.text import inked

if TYPE_CHECKING:
    from textual.events import Click

    from tunememory.tunes.check import Level
    from tunememory.ui.answering import Answer

TALL = 9
"""Rows from which the staff has a row between its lines."""


class Ladder(Widget):
    """Levels as words in the spaces of a staff."""

    DEFAULT_CSS = """
    Ladder { height: 5; }
    """

    answer: Answer | None = None
    moved: tuple[float, float] | None = None
    marked: Level | None = None

    def on_mount(self) -> None:
        """Choose the signs once."""
        self._charset = charset_here(getattr(sys.__stdout__, "encoding", None) or "utf-8")

    def show(self, answer: Answer, moved: tuple[float, float] | None, marked: Level | None) -> None:
        """Draw the levels of ``answer`` and how the tune before it moved."""
        self.answer = answer
        self.moved = moved
        self.marked = marked
        self.refresh()

    def render(self) -> Content:
        """The ladder at the size of the widget."""
        if self.answer is None:
            return Content("")
        gap = 1 if self.size.height >= TALL else 0
        return inked(
            ladder_lines(self.answer, self.size.width, gap, self.moved, self.marked, self._charset)
        )

    async def on_click(self, event: Click) -> None:
        """A click on a level gives it."""
        gap = 1 if self.size.height >= TALL else 0
        level = 4 - (event.y - 1) // (gap + 1)
        if event.y >= 1 and 1 <= level <= 4:
            await self.screen.run_action(f"level({level})")
