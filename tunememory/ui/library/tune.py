"""A tune's page: what it is, how it starts, how well it is remembered and for how long."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.containers import Vertical, VerticalScroll

from tunememory.errors import NotDoneError
from tunememory.library.adding import remove_tune, set_status
from tunememory.library.overview import tune_view
from tunememory.library.starts import sound_of
from tunememory.music.tune import Status
from tunememory.practice.journal import journal_of
from tunememory.practice.ways import log_practice, undo_practice, ways_of
from tunememory.ui.actions import bind
from tunememory.ui.library import drawing as draw
from tunememory.ui.library.drawing import LETTERS, next_drawn
from tunememory.ui.practice.drawing import ways_lines
from tunememory.ui.practice.screen import PracticeScreen
from tunememory.ui.questions import AskLine, confirm
from tunememory.ui.screen import HearingScreen
from tunememory.ui.text import say, wrapped
from tunememory.ui.widgets import Lines

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Key

    from tunememory.library.overview import TuneView
    from tunememory.music.tune import Start
    from tunememory.practice.ways import TuneWay
    from tunememory.ui.actions import Act
    from tunememory.ui.text import Span
    from tunememory.ui.widgets import Drawing


class TunePage(HearingScreen[None]):
    """The page of one tune.

    Args:
        uuid: Identity of the tune.
    """

    CSS = """
    TunePage #page { height: 1fr; padding: 0 2; scrollbar-size-vertical: 1; }
    TunePage #columns { height: auto; layout: vertical; }
    TunePage #left, TunePage #right { height: auto; }
    TunePage.-wide #columns { layout: horizontal; }
    TunePage.-wide #left { width: 5fr; margin-right: 4; }
    TunePage.-wide #right { width: 6fr; }
    TunePage Lines { margin-top: 1; }
    TunePage.-short #facts { margin-top: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("e", "edit", "edit", "Change this tune"),
        bind("k", "status('kept')", "keep", "Keep this tune: it is asked for"),
        bind("l", "status('learning')", "learning", "This tune is in learning"),
        bind("r", "status('resting')", "rest", "Let this tune rest: it is not asked for"),
        bind("w", "status('wanted')", "want", "This tune is wanted, not had yet", shown=False),
        bind("x", "remove", "remove", "Take this tune out of the repertoire", shown=False),
        bind("v", "view", "staff", "Show the starts on the staff, on the strings, or as letters"),
        bind("p", "hear", "hear", "Hear the first start, or stop it"),
        bind("1,2,3,4,5,6,7,8,9", "hear_part", "", "Hear the first start, the second …",
             shown=False, key="1 2 3 …"),
        bind("o", "practise", "practise", "Go to practice with this tune"),
        bind("y", "log", "log", "Log the way offered next: it was done"),
        bind("j", "words", "", "Write down in your own words what you did on it", shown=False),
        bind("u", "undo", "", "Take what was logged here last back", shown=False),
        bind("d", "drone", "", "Let open strings of the root sound under a start, or not",
             shown=False),
        bind("escape,q", "dismiss", "back", "Go back"),
    ]  # fmt: skip

    def __init__(self, uuid: str) -> None:
        super().__init__()
        self.uuid = uuid
        self._view: TuneView | None = None
        self._gone = False
        self._drawn = LETTERS
        self._number = 1
        self._part = ""
        self._next: TuneWay | None = None
        self._logged: list[str] = []

    def body(self) -> ComposeResult:
        """Two columns of sections, under one another unless the window is wide."""
        with VerticalScroll(id="page"), Vertical(id="columns"):
            with Vertical(id="left"):
                yield Lines(id="facts")
                yield Lines(id="starts")
                yield Lines(id="strands")
                yield Lines(id="twins")
            with Vertical(id="right"):
                yield Lines(id="curve")
                yield Lines(id="history")
                yield Lines(id="ways")
                yield Lines(id="note")

    def fill(self) -> None:
        """Write the page anew."""
        if self._gone:
            return
        try:
            self._view = view = tune_view(self.session, self.uuid)
        except NotDoneError as error:
            # Another window took it out: there is no page to stay on.
            say(self.tune_app, str(error), "error")
            self._close()
            return
        today = self.session.day()

        def strands(width: int) -> list[list[Span]]:
            lines = draw.strands_lines(view, width, today)
            return [draw.heading("how well it is remembered", width), *lines]

        def curve(width: int) -> list[list[Span]]:
            lines = draw.curve_section(view, min(width, 76))
            return [draw.heading("if it is left alone", width), *lines] if lines else []

        def history(width: int) -> list[list[Span]]:
            lines = draw.history_lines(view.history, width, today)
            return [draw.heading("what came", width), *lines]

        def note(width: int) -> list[list[Span]]:
            if not view.tune.note:
                return []
            return [draw.heading("note", width), *wrapped(view.tune.note, width)]

        self._section("facts", lambda width: draw.facts_lines(view, width))
        self._section("starts", lambda width: draw.starts_lines(view, width, self._drawn))
        self._section("strands", strands, shown=bool(view.strands))
        self._section("twins", lambda width: draw.twins_lines(view, width), shown=bool(view.twins))
        self._section("curve", curve, shown=bool(view.strands) and len(view.curve) > 1)
        self._section("history", history)
        self._section("note", note, shown=bool(view.tune.note))
        self.head(left=view.tune.title, right=view.tune.key_short)
        self.query_one("#page").focus()
        # The material of every way is made to see which can be offered: after the first picture.
        self.call_after_refresh(self._fill_ways)
        self.refresh_bindings()

    def _fill_ways(self) -> None:
        """Write what was done on the tune, and what to try next."""
        if self._gone or not self.is_attached:
            return
        with self.trying():
            ways, done = ways_of(self.session, self.uuid), journal_of(self.session, self.uuid)
            self._next = next((way for way in ways if way.next), None)
            today = self.session.day()

            def lines(width: int) -> list[list[Span]]:
                written = ways_lines(ways, done, today, width)
                return [draw.heading("ways of working on it", width), *written] if written else []

            self._section("ways", lines, shown=self._next is not None or bool(done))
            self.refresh_bindings()

    def _section(self, name: str, drawing: Drawing, *, shown: bool = True) -> None:
        section = self.query_one(f"#{name}", Lines)
        section.display = shown
        section.show(drawing)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A status the tune has already is not offered, nor hearing what is not written down."""
        if action == "log":
            return self._next is not None
        if action == "undo":
            return bool(self._logged)
        if action == "status" and self._view is not None:
            return self._view.tune.status.value != parameters[0]
        if action in {"hear", "hear_part", "drone"}:
            return any(start.notes for start in self._starts)
        return super().check_action(action, parameters)

    def action_view(self) -> None:
        """Show the starts in the next way: on the staff, on the strings, in letters again."""
        self._drawn = self._next_drawn
        self.fill()

    @property
    def _next_drawn(self) -> str:
        return next_drawn(self._drawn, self._view.starts if self._view else ())

    def word_of(self, act: Act) -> str:
        """Name the way of showing a start that the key changes to."""
        return self._next_drawn if act.action == "view" else super().word_of(act)

    def on_key(self, event: Key) -> None:
        """Keep the number that picks a start."""
        if event.key in "123456789":
            self._number = int(event.key)

    def action_hear(self) -> None:
        """Hear the first start that is written down, or stop."""
        if self.sounds:
            self.hush()
            return
        first = next((start for start in self._starts if start.notes), None)
        if first is not None:
            self._hear(first.part)

    def action_hear_part(self) -> None:
        """Hear the start of the number just pressed."""
        if self._number <= len(self._starts):
            self._hear(self._starts[self._number - 1].part)

    @property
    def _starts(self) -> tuple[Start, ...]:
        return self._view.tune.starts if self._view else ()

    def _hear(self, part: str) -> None:
        if self._view is not None:
            with self.trying():
                self._part = part
                self.hear(sound_of(self._view.tune, self.session.settings, (part,)))

    def action_drone(self) -> None:
        """Turn the drone on or off; what is heard begins again with it or without."""
        with self.trying():
            drone = not self.session.settings.drone
            self.session.save_settings(replace(self.session.settings, drone=drone))
            fits = self._view is not None and any(
                sound_of(self._view.tune, self.session.settings).drones
            )
            said = "With a drone." if fits else "No open string can drone in this key."
            say(self.tune_app, said if drone else "Without a drone.")
            if self.sounds:
                self._hear(self._part)

    def action_practise(self) -> None:
        """Go to practice, this tune at hand."""
        if not any(isinstance(screen, PracticeScreen) for screen in self.app.screen_stack):
            self.tune_app.open_screen("practice", tune=self.uuid)
            return
        self.tune_app.open_screen("practice")
        if isinstance(self.app.screen, PracticeScreen):
            self.app.screen.take(self.uuid)

    def action_log(self) -> None:
        """Write down that the way offered next was done."""
        if self._next is not None:
            way = self._next.way
            with self.trying():
                self._logged.append(log_practice(self.session, self.uuid, way.id).uuid)
                say(self.tune_app, f"Logged: {way.name}.")
                self._fill_ways()

    def action_words(self) -> None:
        """Ask what was done, in the player's own words."""
        ask = AskLine("What did you do on it?", self._keep_words, hint="in your own words")
        self.app.push_screen(ask)

    def _keep_words(self, words: str) -> None:
        if words.strip():
            self._logged.append(log_practice(self.session, self.uuid, words=words).uuid)

    def action_undo(self) -> None:
        """Take what was logged here last back."""
        with self.trying():
            undo_practice(self.session, self._logged.pop())
            say(self.tune_app, "Taken back.")
            self._fill_ways()

    def action_edit(self) -> None:
        """Open the form."""
        self.tune_app.open_screen("edit", uuid=self.uuid)

    def action_status(self, word: str) -> None:
        """Say of the tune that it is kept, in learning, resting or wanted."""
        with self.trying():
            set_status(self.session, self.uuid, Status(word))
            self.fill()

    def action_remove(self) -> None:
        """Ask, then take the tune out."""
        if self._view is None:
            return
        question = f"Take “{self._view.tune.title}” out of the repertoire?"
        confirm(self, question, ("take it out", "leave it"), self._remove)

    def _remove(self) -> None:
        remove_tune(self.session, self.uuid)
        self._close()

    def _close(self) -> None:
        # The screen may still be told to fill itself before it is off the stack.
        self._gone = True
        self.dismiss(None)
