"""A year ahead: how many tunes so many minutes a day keep."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.containers import VerticalScroll
from textual.message import Message
from textual.worker import Worker, WorkerState, get_current_worker

from tunememory.errors import NotDoneError
from tunememory.forecast.year import YearAhead, assumed, sentence, year_ahead
from tunememory.session import open_session
from tunememory.ui.actions import bind
from tunememory.ui.canvas import bar_row, curve_lines
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import wrapped
from tunememory.ui.widgets.lists import Lines
from tunememory.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.timer import Timer

    from tunememory.ui.canvas import Point
    from tunememory.ui.text import Span


def year_lines(found: YearAhead, width: int, rows_a_space: int) -> list[list[Span]]:
    """Draw the year: the chance of the average tune with its range, a sentence, what it assumes.

    Args:
        found: The year.
        width: Cells across.
        rows_a_space: Rows from one staff line to the next.
    """
    return [
        *curve_lines(average_curve(found), width, rows_a_space),
        [],
        *wrapped(sentence(found), width, "strong"),
        *wrapped(assumed(found), width, "quiet"),
    ]


def average_curve(found: YearAhead) -> list[Point]:
    """Return the chance of the average tune with its range, by day."""
    return [
        (float(p.day), p.middle / p.tunes, p.low / p.tunes, p.high / p.tunes) for p in found.points
    ]


def progress_lines(share: float, width: int) -> list[list[Span]]:
    """Draw how much of the year has been lived."""
    return [bar_row(share, width), [(f"living the year, {100 * share:.0f} in 100", "quiet")]]


MOST_MINUTES = 60
MOST_NEW = 12
"""As far as the keys go."""

WIDEST = 96
"""Cells of a line to read at most."""

SECONDS_BETWEEN = 0.05
"""Between two reports of the worker: more often is not seen."""

SETTLED = 0.4
"""Seconds without a key after which the numbers are taken as chosen."""


class _BrokenOffError(Exception):
    """Raised inside the worker when the player breaks it off."""


class ForecastScreen(SessionScreen[None]):
    """Choose minutes and new tunes, watch the year being lived, read what came of it."""

    HEAD = "A year ahead"
    CSS = """
    ForecastScreen #asked { margin: 1 2 0 2; }
    ForecastScreen.-short #asked { margin: 0 2; }
    ForecastScreen #page { margin: 1 1 0 2; height: 1fr; scrollbar-size-vertical: 1; }
    ForecastScreen.-short #page { margin: 0 1 0 2; }
    ForecastScreen #page Lines { margin-right: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("left", "minutes(-1)", "", "A minute a day less", key="←", group="minutes"),
        bind("right", "minutes(1)", "", "A minute a day more", key="→", group="minutes"),
        bind("up", "new(1)", "", "One new tune a month more", key="↑", group="new tunes"),
        bind("down", "new(-1)", "", "One new tune a month less", key="↓", group="new tunes"),
        bind("escape,q", "back", "back", "Break off, or go back", key="esc"),
    ]

    class Progress(Message):
        """So much of the year is lived, 0 to 1."""

        def __init__(self, share: float) -> None:
            super().__init__()
            self.share = share

        def can_replace(self, message: Message) -> bool:
            """Only the newest counts."""
            return isinstance(message, ForecastScreen.Progress)

    def __init__(self) -> None:
        super().__init__()
        self._minutes = 0
        self._new = 0
        self._worker: Worker[YearAhead | None] | None = None
        self._settling: Timer | None = None

    def body(self) -> ComposeResult:
        """What is asked, and the page."""
        yield Lines(id="asked")
        with VerticalScroll(id="page", can_focus=False):
            yield Lines(id="year")

    def fill(self) -> None:
        """Begin with the minutes of the first round."""
        if not self._minutes:
            self._minutes = max(1, round(self.session.settings.minutes_first))
            self._begin()

    def _begin(self) -> None:
        self._settling = None
        self._say_what()
        self._draw_share(0.0)
        self._worker = self._live(self._minutes, self._new)

    def _say_what(self) -> None:
        new = f"{counted(self._new, 'new tune')} a month" if self._new else "no new tunes"
        words = f"{counted(self._minutes, 'minute')} a day, {new}"
        row: list[Span] = [(words, "accent"), (" · your average tune", "quiet")]
        self.query_one("#asked", Lines).show(lambda _: [row])

    @work(thread=True, exclusive=True, group="forecast", exit_on_error=False)
    def _live(self, minutes: int, new: int) -> YearAhead | None:
        """Live the year with a session of its own; ``None`` when it was broken off."""
        worker = get_current_worker()
        last = 0.0

        def progress(share: float) -> None:
            nonlocal last
            if worker.is_cancelled:
                raise _BrokenOffError
            now = time.monotonic()
            if now - last >= SECONDS_BETWEEN:
                last = now
                self.post_message(self.Progress(share))

        try:
            with open_session(self.session.path, self.session.clock) as session:
                return year_ahead(session, minutes, None, new, progress)
        except _BrokenOffError:
            return None

    @on(Progress)
    def _progressed(self, message: Progress) -> None:
        if self._worker is not None:
            self._draw_share(message.share)

    def _draw_share(self, share: float) -> None:
        self.query_one("#year", Lines).show(lambda width: progress_lines(share, width))

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show the year, or say why there is none."""
        if event.worker is not self._worker or not event.worker.is_finished:
            return
        self._worker = None
        error = event.worker.error
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, YearAhead):
            self._show(event.worker.result)
        elif event.state is WorkerState.ERROR and error is not None:
            if not isinstance(error, NotDoneError):
                raise error
            self._say(f"{error}.")

    def _say(self, text: str) -> None:
        words = text[0].upper() + text[1:]
        self.query_one("#year", Lines).show(lambda width: wrapped(words, width, "quiet"))

    def _show(self, found: YearAhead) -> None:
        self.head(right=counted(found.points[0].tunes, "tune") + " now")

        def draw(width: int) -> list[list[Span]]:
            height = self.size.height
            tall = 1 if height < 24 else 2 if height < 32 else 3
            return year_lines(found, min(width, WIDEST), tall)

        self.query_one("#year", Lines).show(draw)

    # Keys.

    def action_minutes(self, step: int) -> None:
        """Take a minute more, or less."""
        self._choose(max(1, min(MOST_MINUTES, self._minutes + step)), self._new)

    def action_new(self, step: int) -> None:
        """Take one new tune a month more, or less."""
        self._choose(self._minutes, max(0, min(MOST_NEW, self._new + step)))

    def _choose(self, minutes: int, new: int) -> None:
        self._minutes, self._new = minutes, new
        self._break_off()
        self._say_what()
        self._draw_share(0.0)
        # Several keys in a row are one wish.
        self._settling = self.set_timer(SETTLED, self._begin)

    def _break_off(self) -> bool:
        """End what is running or about to; whether there was anything."""
        busy = self._worker is not None or self._settling is not None
        if self._settling is not None:
            self._settling.stop()
        if self._worker is not None:
            self._worker.cancel()
        self._settling = self._worker = None
        return busy

    def action_back(self) -> None:
        """Break off what is running, or leave."""
        if self._break_off():
            self._say("Broken off. A key for minutes or new tunes begins anew.")
        else:
            self.dismiss(None)

    def on_unmount(self) -> None:
        """Leave nothing running behind."""
        self._break_off()
