"""My tunes: the whole repertoire as a list, found, sorted and narrowed by keys."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Horizontal
from textual.widgets import Static

from tunememory.ui.actions import bind
from tunememory.ui.choosing import Shown, choose
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.text import joined, lines, plain
from tunememory.ui.widgets.line_input import LineInput
from tunememory.ui.widgets.lines import Lines
from tunememory.ui.widgets.tune_list import TuneList, heads_spans
from tunememory.ui.words import counted, figures

if TYPE_CHECKING:
    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content

    from tunememory.service.views import TuneRow


class TunesScreen(DeskScreen[None]):
    """The list of tunes."""

    HEAD = "My tunes"
    CSS = """
    TunesScreen #words { height: 1; padding: 0 2; display: none; }
    TunesScreen #words Static { width: auto; color: $accent; text-style: bold; }
    TunesScreen #words Input { width: 1fr; background: $background; padding: 0; }
    TunesScreen #heads { padding: 0 1 0 2; height: 1; margin-top: 1; }
    TunesScreen #none { padding: 1 2; height: 1fr; color: $quiet; display: none; }
    TunesScreen.-short #heads { margin-top: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("slash", "look", "look", "Look for a word of a title as you type"),
        bind("n,a", "add", "new tune", "Add a tune"),
        bind("c", "check", "check", "Ask for this tune now", shown=False),
        bind("e", "edit", "edit", "Change this tune", shown=False),
        bind("s", "sort", "sort", "Sort by name, key, kind, chance or tuning in turn"),
        bind("r", "turn_round", "turn round", "Turn the order round", shown=False),
        bind("f", "state", "fading only", "Show only fading, rusty, lost, not asked or safe tunes"),
        bind(
            "l",
            "status",
            "learning only",
            "Show only tunes in learning, wanted, resting or kept",
            shown=False,
        ),
        bind("i", "app.open('import')", "import", "Bring in a tune book", shown=False),
        bind("p", "app.open('pupils')", "pupils", "Go to the pupils", shown=False),
        bind("escape", "back", "back", "Show all tunes again, then go back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.shown = Shown()
        self._all: tuple[TuneRow, ...] = ()

    @property
    def tunes(self) -> TuneList:
        """The list."""
        return self.query_one(TuneList)

    def body(self) -> ComposeResult:
        """The line to type in, the heads of the columns, the list."""
        with Horizontal(id="words"):
            yield Static("/ ")
            yield LineInput("a word of the title")
        yield Lines(lambda width: [heads_spans(width, self.shown)], id="heads")
        yield TuneList()
        yield Static(id="none")

    def fill(self) -> None:
        """Show the tunes, the cursor where it was."""
        self._all = self.desk.rows()
        self._show()
        if not isinstance(self.focused, LineInput):
            self.tunes.focus()

    def _show(self, uuid: str = "") -> None:
        """Show what the filter lets through; the cursor on ``uuid``, or on the tune it was on."""
        here = self.tunes.current
        uuid = uuid or (here.uuid if here else "")
        rows = choose(self._all, self.shown)
        self.tunes.order = self.shown.order
        cursor = next((place for place, row in enumerate(rows) if row.uuid == uuid), 0)
        self.tunes.show(rows, cursor)
        self.query_one("#heads", Lines).show(lambda width: [heads_spans(width, self.shown)])
        self.query_one("#heads").display = bool(rows)
        self.tunes.display = bool(rows)
        none = self.query_one("#none", Static)
        none.display = not rows
        if not rows:
            none.update(self._nothing())
        self.head(right=self._summary(len(rows)))
        self.refresh_bindings()

    def _summary(self, number: int) -> str:
        if not self.shown.narrowed:
            return counted(number, "tune")
        only = [word.value for word in (self.shown.state, self.shown.status) if word]
        return " · ".join([f"{figures(number)} of {counted(len(self._all), 'tune')}", *only])

    def _nothing(self) -> Content:
        accent = "bold $accent"
        if not self._all:
            return lines(
                plain("No tunes yet."),
                plain(""),
                joined("Press ", ("n", accent), " to put in the first one: a name is enough."),
                joined("Press ", ("i", accent), " to bring in a tune book."),
            )
        words = self.shown.words.strip()
        only = " and ".join(word.value for word in (self.shown.state, self.shown.status) if word)
        what = "No tune here" + (f" is {only}" if only else "")
        if words:
            what += f"{' and' if only else ''} has “{words}” in a title"
        return lines(
            plain(what + "."),
            plain(""),
            joined("Press ", ("escape", accent), " to see all of them again."),
        )

    def _change(self, shown: Shown) -> None:
        self.shown = shown
        self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action == "look":
            return bool(self._all) and not self.query_one("#words").display
        if action in {"open_tune", "check", "edit"}:
            return self.tunes.current is not None
        if action in {"sort", "turn_round", "state", "status"}:
            return bool(self._all)
        return super().check_action(action, parameters)

    # Keys.

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed in one go with the key that opens the line.

        Bindings are looked up a moment later than this, in the app.
        """
        if self.query_one("#words").display:
            self.query_one(LineInput).take(event)
        elif event.key == "slash" and self._all:
            self.action_look()
            event.stop()

    def action_look(self) -> None:
        """Open the line to type in."""
        self.query_one("#words").display = True
        self.set_focus(self.query_one(LineInput))
        self.refresh_bindings()

    def _stop_looking(self) -> None:
        self.tunes.focus()
        self.query_one("#words").display = False
        line = self.query_one(LineInput)
        with line.prevent(LineInput.Changed):
            line.value = ""

    @on(LineInput.Changed)
    def _typed(self, event: LineInput.Changed) -> None:
        self._change(replace(self.shown, words=event.value))

    @on(LineInput.Moved)
    def _moved(self, event: LineInput.Moved) -> None:
        self.tunes.move(event.rows, event.pages)

    @on(LineInput.Submitted)
    @on(TuneList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.tunes.current
        if row is not None:
            self.tune_app.open_tune(row.uuid)

    def action_add(self) -> None:
        """Open an empty form; the new tune is where the cursor is afterwards."""
        self.tune_app.open_screen("edit", self._added, uuid=None)

    def _added(self, uuid: object) -> None:
        if isinstance(uuid, str):
            self.shown = Shown(order=self.shown.order)
            self._stop_looking()
            self._all = self.desk.rows()
            self._show(uuid)

    def action_edit(self) -> None:
        """Open the form of the tune under the cursor."""
        row = self.tunes.current
        if row is not None:
            self.tune_app.open_screen("edit", uuid=row.uuid)

    def action_check(self) -> None:
        """Ask for the tune under the cursor."""
        row = self.tunes.current
        if row is not None:
            self.ask_for(row.uuid)

    def action_sort(self) -> None:
        """Sort by the next thing."""
        self._change(self.shown.next_order())

    def action_turn_round(self) -> None:
        """Sort the other way."""
        self._change(replace(self.shown, backwards=not self.shown.backwards))

    def action_state(self) -> None:
        """Narrow to the next state."""
        self._change(self.shown.next_state())

    def action_status(self) -> None:
        """Narrow to the next status."""
        self._change(self.shown.next_status())

    def action_back(self) -> None:
        """Show everything again, or leave when everything is shown."""
        if self.query_one("#words").display or self.shown.narrowed:
            self._stop_looking()
            self._change(Shown(order=self.shown.order, backwards=self.shown.backwards))
        else:
            self.dismiss(None)
