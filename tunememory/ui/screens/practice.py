"""Practice: a clock, what waits to be worked on, and the ways of working on it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Container
from textual.widgets import Static

from tunememory.service.errors import ServiceError
from tunememory.store.errors import RepertoireError
from tunememory.tunes.sitting import At
from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_practice import (
    LEAST_MINUTES,
    NOTHING_WAITS,
    at_hand_lines,
    elsewhere_words,
    material_lines,
    sitting_words,
)
from tunememory.ui.text import lines, plain, say
from tunememory.ui.widgets.line_list import LineList
from tunememory.ui.widgets.lines import Lines
from tunememory.ui.widgets.practice_clock import PracticeClock
from tunememory.ui.widgets.work_rows import WayRows, Work, WorkRows, work_rows
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.planning.work_list import WorkList

PAUSE = "25 minutes: a good moment for a pause of five."


class PracticeScreen(DeskScreen[None]):
    """The middle of a sitting. Minutes that belong to no tune are written down on leaving."""

    HEAD = "Practice"
    CSS = """
    PracticeScreen PracticeClock { height: 2; padding: 1 2 0 2; }
    PracticeScreen #pause { height: 1; padding: 0 2; color: $accent; }
    PracticeScreen #lists { layout: horizontal; height: 1fr; }
    PracticeScreen #work { width: 1fr; height: 1fr; }
    PracticeScreen #ways { width: 1fr; height: 1fr; margin-right: 1; }
    PracticeScreen #hand { padding: 0 2; }
    PracticeScreen #material { display: none; padding-top: 1; }
    PracticeScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }

    PracticeScreen.-narrow #lists { layout: vertical; }
    PracticeScreen.-narrow #work { width: 100%; height: auto; max-height: 8; }
    PracticeScreen.-narrow #ways { width: 100%; margin: 0; }
    PracticeScreen.-narrow.-in-ways #work { display: none; }
    PracticeScreen.-narrow.-in-work #ways { display: none; }
    PracticeScreen.-narrow.-in-work #work { max-height: 100%; height: 1fr; }
    PracticeScreen.-short PracticeClock { height: 1; padding: 0 2; }
    PracticeScreen.-short #material { padding: 0; }

    PracticeScreen.-in-material #lists { display: none; }
    PracticeScreen.-in-material #material { display: block; }
    PracticeScreen.-nothing #lists, PracticeScreen.-nothing #hand { display: none; }
    PracticeScreen.-nothing #none { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "further", "go on", "Go to its ways, then to what a way brings, then log it"),
        bind("l", "log", "log", "Log this way: it was done"),
        bind("space", "turn", "pause", "Pause the clock, or let it go on", key="space"),
        bind("x", "pain", "it hurts", "Stop because it hurts: the sitting ends, all is kept"),
        bind("f", "finish", "finish", "Finish practice: on to the last round"),
        bind("h", "head_only", "head only", "Practise without the instrument, or with it again"),
        bind("u", "undo", "undo", "Take the last logged way back", shown=False),
        bind("o", "open_tune", "tune", "Open the page of the tune at hand", shown=False),
        bind("escape", "back", "back", "Go back; the sitting goes on later", key="esc"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._clock = PracticeClock()
        self._work: WorkList | None = None
        self._logged: list[tuple[str, float]] = []
        self._over = False

    def body(self) -> ComposeResult:
        """The clock, the tune at hand, the two lists, and what a way brings."""
        yield self._clock
        yield Static(id="pause")
        yield Lines(id="hand")
        with Container(id="lists"):
            yield WorkRows(id="work")
            yield WayRows(id="ways")
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

    def fill(self) -> None:
        """Show the list anew, the cursor on the tune it was on."""
        if self._over:
            return
        if self.desk.sitting().at is not At.PRACTICE:
            self.desk.go_to(At.PRACTICE)
        self._work = self.desk.work_list()
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

    # Keys.

    def on_key(self) -> None:
        """Any key takes the hint to pause away, and does what it does."""
        self.query_one("#pause", Static).update(plain(""))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action in {"further", "open_tune"}:
            return self._work is None or bool(self._tunes.rows)
        if action == "log":
            way = self._ways.current
            return way is not None and way.possible and self._where != "work"
        if action == "undo":
            return bool(self._logged)
        return super().check_action(action, parameters)

    @on(WorkRows.Chosen)
    def action_further(self) -> None:
        """From the tune to its ways, to what a way brings, to logging it."""
        if self._at_hand is None:
            return
        if self._where == "work":
            self._stage("ways")
        elif self._where == "ways":
            self._bring()
        else:
            self.action_log()

    def _bring(self) -> None:
        here, way = self._at_hand, self._ways.current
        if here is None or way is None:
            return
        with self.trying():
            material = self.desk.material(here.item.tune.uuid, way.id)
            width = max(20, self.size.width - 6)
            rows = self.query_one("#material", LineList)
            rows.show(tuple(material_lines(material, way, width)))
            self._stage("material")

    def action_log(self) -> None:
        """Write down that the way was done, with the minutes since the last one."""
        here, way = self._at_hand, self._ways.current
        if here is None or way is None or not way.possible:
            return
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        with self.trying():
            entry = self.desk.log_practice(here.item.tune.uuid, way.id, minutes)
            self._clock.stopwatch.tell()
            self._logged.append((entry.uuid, minutes))
            spent = f", {counted(round(minutes), 'minute')}" if minutes >= 0.75 else ""
            say(self.tune_app, f"Logged: {way.name}, {here.item.tune.title}{spent}.")
            self._stage("ways")
            self._show_ways()
            self._show_sitting()

    def action_undo(self) -> None:
        """Take the last logged way back; its minutes go on counting."""
        uuid, minutes = self._logged.pop()
        with self.trying():
            self.desk.undo_practice(uuid)
            self._clock.stopwatch.take_back(minutes)
            say(self.tune_app, "Taken back.")
            self._show_ways()
            self._show_sitting()

    def action_turn(self) -> None:
        """Pause the clock or let it go on."""
        self._clock.stopwatch.turn()
        self._clock.tick()

    def action_head_only(self) -> None:
        """Switch between the instrument and the head alone; minutes are counted apart."""
        with self.trying():
            self._keep_minutes()
            self.desk.set_head_only(not self.desk.sitting().head_only)
            self._show_sitting()

    def action_open_tune(self) -> None:
        """Open the page of the tune at hand."""
        if self._at_hand is not None:
            self.tune_app.open_tune(self._at_hand.item.tune.uuid)

    def action_back(self) -> None:
        """Back to the ways, to the tunes, to Today."""
        if self._where != "work":
            self._stage("ways" if self._where == "material" else "work")
            return
        with self.trying():
            self._keep_minutes()
            self._leave()

    def action_finish(self) -> None:
        """On to the last round."""
        with self.trying():
            self._keep_minutes()
            self.desk.go_to(At.LAST)
            self._leave()

    def action_pain(self) -> None:
        """End the sitting now."""
        with self.trying():
            self.desk.stop_for_pain(round(self._clock.stopwatch.untold_minutes, 2))
            self._clock.stopwatch.tell()
            self._leave()
            say(self.tune_app, "The sitting has ended; everything is kept.")

    # Minutes.

    def _keep_minutes(self) -> None:
        """Write down the minutes that no logged way took."""
        minutes = round(self._clock.stopwatch.untold_minutes, 2)
        if minutes >= LEAST_MINUTES:
            self.desk.practised(minutes)
            self._clock.stopwatch.tell()

    def _leave(self) -> None:
        self._over = True
        self.dismiss(None)

    def on_unmount(self) -> None:
        """Keep the minutes also when the whole app ends."""
        if self.tune_app.desk is not None and not self._over:
            with suppress(ServiceError, RepertoireError):
                self._keep_minutes()
