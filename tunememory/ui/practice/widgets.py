"""The practice clock on the screen, and the word that a pause would be good."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from tunememory.practice.sitting import PAUSE_MINUTES
from tunememory.ui.practice.drawing import clock_line
from tunememory.ui.text import inked

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.content import Content

    from tunememory.practice.work_list import Group, Item, WorkList


class Stopwatch:
    """Counts seconds from now on.

    Args:
        now: Seconds on any scale that only runs forward. The default one is not moved when the
            system's clock is set.
    """

    def __init__(self, now: Callable[[], float] | None = None) -> None:
        self._now = now or monotonic
        self._kept = 0.0
        self._since: float | None = self._now()
        self._lap_from = 0.0

    @property
    def running(self) -> bool:
        """Whether it counts."""
        return self._since is not None

    @property
    def seconds(self) -> float:
        """Counted so far."""
        return self._kept + (self._now() - self._since if self._since is not None else 0.0)

    @property
    def lap(self) -> float:
        """Seconds of the present lap; the first begins with the stopwatch."""
        return self.seconds - self._lap_from

    def turn(self) -> None:
        """Pause, or go on."""
        if self._since is None:
            self._since = self._now()
        else:
            self._kept = self.seconds
            self._since = None

    def begin_lap(self) -> None:
        """Begin another lap."""
        self._lap_from = self.seconds

    def lengthen_lap(self, seconds: float) -> None:
        """Take seconds of laps before into the present one, as far as there are any."""
        self._lap_from = max(0.0, self._lap_from - seconds)


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


class Work(NamedTuple):
    """A tune of the work-list in its group."""

    group: Group
    item: Item
    first: bool


def work_rows(work: WorkList) -> tuple[Work, ...]:
    """Return the work-list one tune a row."""
    return tuple(
        Work(group, item, place == 0)
        for group in work.groups
        for place, item in enumerate(group.items)
    )
