"""Today: what waits, the sitting, what fades, and the whole repertoire at a look."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.containers import Container
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from tunememory.tunes.check import RoundKind
from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_memory import space_of
from tunememory.ui.text import Span, bare, cell, inked, plain, say, width_of
from tunememory.ui.widgets.staff import StaffPicture
from tunememory.ui.words import counted, in_ten

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Click

    from tunememory.service.views import FadingRow, Step, TodayView

EMPTY = "No tunes yet. Press n to add one, or i to bring in a tune book."

MOST_FADING = 5
"""Names of fading tunes shown; the rest is a key away."""


def minutes_words(minutes: float) -> str:
    """Say how long a round takes: ``"~4 min"``, ``"under a minute"``."""
    return f"~{round(minutes)} min" if minutes >= 0.75 else "under a minute"


class Steps(Widget):
    """The steps of a sitting, one marked: the one that Enter begins."""

    DEFAULT_CSS = """
    Steps { height: 3; text-wrap: nowrap; text-overflow: ellipsis; }
    """

    view: reactive[TodayView | None] = reactive(None, init=False)
    marked: reactive[RoundKind] = reactive(RoundKind.FIRST, init=False)

    def render(self) -> Content:
        """First round, practice, last round."""
        steps = {step.kind: step for step in self.view.steps} if self.view else {}
        tuning = self.view.tuning if self.view else ""
        return inked(
            [
                self._round("First round", steps.get(RoundKind.FIRST), tuning),
                [
                    ("  ", ""),
                    (cell("Practice", 14), "quiet"),
                    ("instrument out", "quiet"),
                ],
                self._round("Last round", steps.get(RoundKind.LAST), ""),
            ]
        )

    def _round(self, name: str, step: Step | None, tuning: str) -> list[Span]:
        if step is None:
            return [("  ", ""), (cell(name, 14), "quiet")]
        here = step.kind is self.marked
        said = [counted(step.prompts, "tune"), minutes_words(step.minutes)]
        if tuning:
            said.append(tuning)
        if step.done:
            said = ["done"] + ([f"{counted(step.prompts, 'tune')} more"] if step.prompts else [])
        elif not step.prompts:
            said = ["nothing to ask just now"]
        return [
            ("▸ " if here else "  ", "bright"),
            (cell(name, 14), "bright" if here else "strong"),
            (" · ".join(said), "" if here else "quiet"),
        ]

    def on_click(self, event: Click) -> None:
        """A click on a step begins it."""
        if event.y != 1:
            self.marked = RoundKind.FIRST if event.y == 0 else RoundKind.LAST
            self.call_later(self.screen.run_action, "begin")


class Fading(Widget):
    """A few names of what fades, weakest first, with the chance in words."""

    DEFAULT_CSS = """
    Fading { height: 6; }
    """

    fading: reactive[tuple[FadingRow, ...] | None] = reactive(None, init=False)

    def render(self) -> Content:
        """A heading and as many rows as there is room for."""
        if self.fading is None:
            return Content("")
        rows: list[list[Span]] = [[("What fades", "strong")]]
        if not self.fading:
            rows.append([("Nothing beyond this round.", "quiet")])
        for row in self.fading[: min(MOST_FADING, self.size.height - 1)]:
            words = in_ten(row.chance.chance)
            strand = "" if row.strand == "A" else f" · {row.strand}"
            room = self.size.width - len(words) - 2
            title = cell(row.title, min(room - len(strand), width_of(bare(row.title)))).rstrip()
            space = " " * (room + 2 - width_of(title) - len(strand))
            rows.append(
                [
                    (title, ""),
                    (strand + space, "quiet"),
                    (words, space_of(row.chance.chance)),
                ]
            )
        return inked(rows)


class TodayScreen(DeskScreen[None]):
    """The first screen."""

    HEAD = "Today"
    DEFAULT_CSS = """
    TodayScreen #note, TodayScreen #sitting, TodayScreen StaffPicture { max-width: 128; }
    TodayScreen #note { height: auto; max-height: 2; margin: 1 2 0 2; color: $accent; }
    TodayScreen #sitting { layout: horizontal; height: 6; margin: 1 2 0 0; }
    TodayScreen Steps { width: 42; margin-top: 1; }
    TodayScreen Fading { width: 1fr; }
    TodayScreen StaffPicture { margin: 1 2 0 0; }

    TodayScreen.-narrow #sitting { layout: vertical; height: 8; }
    TodayScreen.-narrow Steps { width: 100%; margin: 0; }
    TodayScreen.-narrow Fading { margin: 1 0 0 2; height: 4; }
    TodayScreen.-short #note { margin: 0 2 0 2; height: 1; }
    TodayScreen.-short StaffPicture { margin: 0 2 0 0; }
    TodayScreen.-short.-low Fading { display: none; }
    TodayScreen.-short.-low #sitting { height: 3; }

    TodayScreen.-wide Steps { width: 60; }
    TodayScreen.-tall StaffPicture { margin: 2 2 1 0; }
    TodayScreen.-tall.-narrow #sitting { height: 10; }
    TodayScreen.-tall.-narrow Fading { height: 6; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter,space", "begin", "begin", "Begin the marked round", key="enter"),
        bind("up", "mark('first')", "", "Mark the first round", shown=False),
        bind("down", "mark('last')", "", "Mark the last round", shown=False),
        bind("m", "app.open('tunes')", "my tunes", "Go to My tunes"),
        bind("f", "app.open('fading')", "fading", "Go to what is fading"),
        bind("slash", "app.open('find')", "find", "Find a tune by name or by notes", key="/"),
        bind("n", "app.open('edit')", "new tune", "Add a tune"),
        bind("q", "app.quit", "quit", "Leave; everything is kept"),
        bind("l", "loose", "loose round", "Begin a loose round, any time", shown=False),
        bind("t", "retune", "tuning", "Say that the instrument is in another tuning", shown=False),
        bind("i", "app.open('import')", "import", "Bring in a tune book", shown=False),
        bind("comma", "app.open('settings')", "settings", "Go to Settings", shown=False, key=","),
    ]

    def body(self) -> ComposeResult:
        """An empty staff and the names of the steps; what is in them comes a moment later."""
        yield Static(id="note")
        with Container(id="sitting"):
            yield Steps()
            yield Fading()
        yield StaffPicture()

    def on_mount(self) -> None:
        """Look now and then whether a new day has begun."""
        self.set_interval(60, self._new_day)

    def _new_day(self) -> None:
        view = self.query_one(Steps).view
        if view is not None and self.desk.day() != view.day and self.is_current:
            self.refill()

    def fill(self) -> None:
        """Show the day."""
        view = self.desk.today()
        self.head(right=f"{view.day:%A} {view.day.day} {view.day:%B}")
        self.query_one("#note", Static).update(plain(view.note if view.tunes else EMPTY))
        steps = self.query_one(Steps)
        steps.view = view
        steps.marked = next((step.kind for step in view.steps if not step.done), RoundKind.FIRST)
        self.query_one(Fading).fading = view.fading if view.tunes else None
        counts = {state.value: number for state, number in view.counts}
        self.query_one(StaffPicture).show(view.tunes, counts)

    def action_mark(self, kind: str) -> None:
        """Mark the round that Enter begins."""
        self.query_one(Steps).marked = RoundKind(kind)

    def action_begin(self) -> None:
        """Begin the marked round."""
        self.begin(self.query_one(Steps).marked)

    def action_loose(self) -> None:
        """Begin a loose round."""
        self.begin(RoundKind.LOOSE)

    def action_retune(self) -> None:
        """Take the next tuning that tunes of the repertoire are in; the plan follows."""
        tunings = sorted({row.tuning for row in self.desk.rows()})
        if len(tunings) < 2:
            say(self.tune_app, "All tunes are in one tuning.")
            return
        view = self.query_one(Steps).view
        now = view.tuning if view else ""
        after = tunings[(tunings.index(now) + 1) % len(tunings)] if now in tunings else tunings[0]
        with self.trying():
            self.desk.save_settings(replace(self.desk.settings, standing_tuning=after))
            self.refill()
            say(self.tune_app, f"The instrument is in {after}.")

    def begin(self, kind: RoundKind) -> None:
        """Plan a round and begin it, or say why there is nothing to ask."""
        if self.tune_app.desk is None:
            return
        with self.trying():
            planned = self.desk.plan(kind)
            if not planned.asked:
                say(self.tune_app, planned.note or "Nothing to ask just now.")
                return
            self.tune_app.open_screen("round", run=self.desk.begin(planned), planned=planned)
