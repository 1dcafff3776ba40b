"""The practice clock on the screen, and the word that a pause would be good."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from tunememory.service.sitting import PAUSE_MINUTES
from tunememory.ui.drawing_practice import clock_line
from tunememory.ui.stopwatch import Stopwatch
from tunememory.ui.text import inked

if TYPE_CHECKING:
    from textual.content import Content


class PracticeClock(Widget):
    """Counts from when it is made."""

    DEFAULT_CSS = "PracticeClock { height: 1; text-wrap: nowrap; }"

    said: reactive[str] = reactive("", init=False)
    """What stands behind the clock."""

    class PauseDue(Message):
        """It has counted so long that a pause would be good; sent once."""

    def __init__(self) -> None:
        super().__init__()
        self.stopwatch = Stopwatch()
        self._pause_said = False

    def on_mount(self) -> None:
        """Go on being seen."""
        self.set_interval(1.0, self.tick)

    def tick(self) -> None:
        """Show the time, and say once that a pause is due."""
        self.refresh()
        if not self._pause_said and self.stopwatch.seconds >= PAUSE_MINUTES * 60:
            self._pause_said = True
            self.post_message(self.PauseDue())

    def render(self) -> Content:
        """Draw it."""
        watch = self.stopwatch
        line = clock_line(
            watch.seconds, PAUSE_MINUTES, self.said, self.size.width, running=watch.running
        )
        return inked([line])
