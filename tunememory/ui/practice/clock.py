"""The practice clock: what it counts, what is written down of it, how it looks."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING

from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from tunememory.practice.sitting import PAUSE_MINUTES, log_minutes, stop_for_pain
from tunememory.practice.ways import log_practice, undo_practice
from tunememory.ui.practice.drawing import clock_line
from tunememory.ui.text import inked

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.content import Content

    from tunememory.music.tune import Tune
    from tunememory.recall.check import Practice
    from tunememory.session import Session


class Stopwatch:
    """Counts seconds from now on.

    Args:
        now: Seconds on any scale that only runs forward. The default one is not moved when the
            system's clock is set.
    """

    def __init__(self, now: Callable[[], float] | None = None) -> None:
        self._now = now or monotonic
        self._counted = 0.0
        self._since: float | None = self._now()
        self._lap_from = 0.0

    @property
    def running(self) -> bool:
        """Whether it counts."""
        return self._since is not None

    @property
    def seconds(self) -> float:
        """Counted so far."""
        return self._counted + (self._now() - self._since if self._since is not None else 0.0)

    @property
    def lap(self) -> float:
        """Seconds of the present lap; the first begins with the stopwatch."""
        return self.seconds - self._lap_from

    def turn(self) -> None:
        """Pause, or go on."""
        if self._since is None:
            self._since = self._now()
        else:
            self._counted = self.seconds
            self._since = None

    def begin_lap(self) -> None:
        """Begin another lap."""
        self._lap_from = self.seconds

    def lengthen_lap(self, seconds: float) -> None:
        """Take seconds of laps before into the present one, as far as there are any."""
        self._lap_from = max(0.0, self._lap_from - seconds)


LEAST_MINUTES = 0.5
"""Minutes below which nothing is worth writing down."""


class PracticeLog:
    """What is written down while practice is on the screen.

    Args:
        stopwatch: What counts; its lap is the time since the last entry.
    """

    def __init__(self, stopwatch: Stopwatch) -> None:
        self._stopwatch = stopwatch
        self._entries: list[Practice] = []

    @property
    def minutes(self) -> float:
        """Minutes not yet written down."""
        return round(self._stopwatch.lap / 60.0, 2)

    @property
    def can_undo(self) -> bool:
        """Whether there is an entry to take back."""
        return bool(self._entries)

    def add(self, session: Session, tune: Tune, way: str, words: str) -> Practice:
        """Write down what was done on a tune, with the minutes since the last entry.

        Raises:
            NotDoneError: It could not be written.
        """
        entry = log_practice(session, tune.uuid, way, self.minutes, words=words)
        self._stopwatch.begin_lap()
        self._entries.append(entry)
        return entry

    def undo(self, session: Session) -> None:
        """Take the last entry back; its minutes go on counting.

        Raises:
            NotDoneError: It could not be taken back.
        """
        entry = self._entries.pop()
        undo_practice(session, entry.uuid)
        self._stopwatch.lengthen_lap(entry.minutes * 60.0)

    def add_rest(self, session: Session) -> None:
        """Write down the minutes that belong to no tune.

        Raises:
            NotDoneError: They could not be written.
        """
        if self.minutes >= LEAST_MINUTES:
            log_minutes(session, self.minutes)
            self._stopwatch.begin_lap()

    def stop_for_pain(self, session: Session) -> None:
        """End the sitting; the minutes are kept.

        Raises:
            NotDoneError: It could not be written.
        """
        stop_for_pain(session, self.minutes if self.minutes >= LEAST_MINUTES else 0.0)
        self._stopwatch.begin_lap()


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
