"""What stands on the screen in practice: tunes that wait, the ways of one, what a way brings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import on
from textual.containers import Container
from textual.widgets import Static

from tunememory.tunes.sitting import At
from tunememory.ui.drawing_practice import (
    NOTHING_WAITS,
    at_hand_lines,
    elsewhere_words,
    sitting_words,
)
from tunememory.ui.screens.practice_log import PracticeLog
from tunememory.ui.text import lines, plain
from tunememory.ui.widgets.line_list import LineList
from tunememory.ui.widgets.lines import Lines
from tunememory.ui.widgets.practice_clock import PracticeClock
from tunememory.ui.widgets.work_rows import WayRows, Work, WorkRows, work_rows

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from tunememory.planning.work_list import WorkList
    from tunememory.service.day_views import WayView
    from tunememory.tunes.tune import Tune

PAUSE = "25 minutes: a good moment for a pause of five."


class PracticeStages(PracticeLog):
    """The clock over three stages, one gone to from the other; which one is a class of the screen.

    Args:
        tune: Identity of a tune to begin with, whatever the plan says.
    """

    def __init__(self, tune: str = "") -> None:
        super().__init__()
        self._begin_with = tune
        self._work: WorkList | None = None
        self._tuning = ""
        self._chosen: list[str] = []

    def body(self) -> ComposeResult:
        """The clock, the tune at hand, the two lists, and what a way brings."""
        yield self._clock
        yield Static(id="pause")
        yield Lines(id="hand")
        with Container(id="lists"):
            yield WorkRows(id="work")
            yield WayRows(id="ways")
        yield Static(id="piece")
        yield LineList(id="material")
        yield Static(lines(*(plain(row) for row in NOTHING_WAITS)), id="none")

    def on_mount(self) -> None:
        """Begin in the list of tunes."""
        self._stage("work")

    # What is shown.

    @property
    def _tunes(self) -> WorkRows:
        return self.query_one("#work", WorkRows)

    @property
    def _ways(self) -> WayRows:
        return self.query_one("#ways", WayRows)

    @property
    def _at_hand(self) -> Work | None:
        return self._tunes.current

    @property
    def tune_at_hand(self) -> Tune | None:
        """The tune under the cursor."""
        return self._at_hand.item.tune if self._at_hand else None

    @property
    def way_at_hand(self) -> WayView | None:
        """The way under the cursor: the one offered next until another is gone to."""
        return self._ways.current

    @property
    def in_ways(self) -> bool:
        """Whether one has gone on from the tune to its ways."""
        return self._where != "work"

    def show_logged(self) -> None:
        """Show the ways anew, and what was done today."""
        if self._where == "material":
            self._stage("ways")
        self._show_ways()
        self._show_sitting()

    def fill(self) -> None:
        """Show the list anew, the cursor on the tune it was on."""
        if self._left:
            return
        if self.desk.sitting().at is not At.PRACTICE:
            self.desk.go_to(At.PRACTICE)
        self._work = self.desk.work_list(self._tuning, self._chosen)
        here = self._at_hand
        rows = work_rows(self._work)
        place = next(
            (n for n, row in enumerate(rows) if here and row.item.tune.uuid == here.item.tune.uuid),
            0,
        )
        self._tunes.show(rows, place)
        self.set_class(not rows, "-nothing")
        self.head(right=elsewhere_words(self._work))
        self._show_ways()
        self._show_sitting()
        self.refresh_bindings()
        if self._begin_with:
            tune, self._begin_with = self._begin_with, ""
            self.take(tune)

    def _show_ways(self) -> None:
        """Show the ways of the tune at hand, the cursor on the one to offer."""
        here, work = self._at_hand, self._work
        if here is None or work is None:
            return
        self.query_one("#hand", Lines).show(
            lambda width: at_hand_lines(work, here.group, here.item, width)
        )
        with self.trying():
            ways = self.desk.ways(here.item.tune.uuid)
            self._ways.today = self.desk.day()
            self._ways.show(ways, next((n for n, way in enumerate(ways) if way.next), 0))

    def _show_sitting(self) -> None:
        """Say behind the clock how the sitting is held and what was done today."""
        sitting, work = self.desk.sitting(), self._work
        if work is not None:
            letters = work.tuning.letters
            self._clock.said = sitting_words(letters, sitting.minutes, head_only=sitting.head_only)

    @on(PracticeClock.PauseDue)
    def _pause_due(self) -> None:
        self.query_one("#pause", Static).update(plain(PAUSE))

    def take(self, uuid: str) -> None:
        """Put a tune on the list, whatever the plan says, and go to its ways."""
        with self.trying():
            tune = self.desk.tune(uuid)
            self._tuning = (tune.tuning or self.desk.settings.usual).letters
            self._chosen = [uuid, *(one for one in self._chosen if one != uuid)]
            self.fill()
            rows = self._tunes.rows
            self._tunes.cursor = next(n for n, row in enumerate(rows) if row.item.tune.uuid == uuid)
            self._stage("ways")

    def _stage(self, name: str) -> None:
        """Go to the list of tunes, of ways, or to what a way brings."""
        for stage in ("work", "ways", "material"):
            self.set_class(stage == name, f"-in-{stage}")
        self.query_one(f"#{name}").focus()
        self.refresh_bindings()

    @property
    def _where(self) -> str:
        return next(name for name in ("work", "ways", "material") if self.has_class(f"-in-{name}"))

    @on(WorkRows.Highlighted, "#work")
    def _other_tune(self) -> None:
        self._show_ways()
