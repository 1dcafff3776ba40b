"""What is fading: today, in a week, in a month."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.ui.actions import bind
from tunememory.ui.canvas import charset_here
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_fading import HORIZONS, staves_lines
from tunememory.ui.text import lines, plain
from tunememory.ui.widgets.fading_list import FadingList
from tunememory.ui.widgets.lines import Lines
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.service.views import FadingRow
    from tunememory.ui.text import Span

NOTHING = (
    "Nothing can fade yet.",
    "",
    "Tunes that are kept or in learning are shown here,",
    "once there is a key, a start or a name to ask for.",
)


class FadingScreen(DeskScreen[None]):
    """The three staves and the list of one of them."""

    HEAD = "Fading"
    CSS = """
    FadingScreen #staves { padding: 1 2; }
    FadingScreen.-short #staves { padding: 0 2; }
    FadingScreen #none { padding: 1 2; height: 1fr; color: $quiet; display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("c", "check", "check", "Ask for this tune now"),
        bind("left", "ahead(-1)", "sooner", "Look less far ahead", key="←"),
        bind("right", "ahead(1)", "later", "Look further ahead", key="→"),
        bind("h", "app.open('how_well')", "how well", "See how well we guess"),
        bind("y", "app.open('forecast')", "a year", "Look a year ahead"),
        bind("escape,q", "dismiss", "back", "Go back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._chosen = 0
        self._ahead: list[tuple[FadingRow, ...]] = [()] * len(HORIZONS)

    def body(self) -> ComposeResult:
        """Staves over the list."""
        yield Lines(id="staves")
        yield FadingList()
        yield Static(lines(*(plain(row) for row in NOTHING)), id="none")

    def fill(self) -> None:
        """Show today; the staves of later days follow once it stands there."""
        self._ahead = [self.desk.fading(), *self._ahead[1:]]
        self.call_after_refresh(self._look_ahead)
        rows = self.query_one(FadingList)
        rows.today = self.desk.day()
        rows.day_of = self.desk.day_of
        some = bool(self._ahead[0])
        self.query_one("#staves").display = rows.display = some
        self.query_one("#none").display = not some
        if some:
            self._show()
            rows.focus()
        self.refresh_bindings()

    def _look_ahead(self) -> None:
        self._ahead = [self._ahead[0], *(self.desk.fading(days) for days, _ in HORIZONS[1:])]
        if self._ahead[0]:
            self._show()

    def _show(self) -> None:
        """Show the list of the chosen day, the cursor on the tune it was on."""
        rows = self.query_one(FadingList)
        here = rows.current
        shown = self._ahead[self._chosen]
        place = next((k for k, row in enumerate(shown) if here and row.tune == here.tune), 0)
        rows.show(shown, place)
        charset = charset_here(getattr(sys.__stdout__, "encoding", None) or "utf-8")

        def staves(width: int) -> list[list[Span]]:
            gap = 0 if self.size.height < 22 else 1 if self.size.height < 32 else 2
            return staves_lines(self._ahead, self._chosen, width, gap, charset)

        self.query_one("#staves", Lines).show(staves)
        self.head(right=f"{counted(len(shown), 'tune')} {HORIZONS[self._chosen][1]}, weakest first")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done."""
        if action in {"open_tune", "check", "ahead"}:
            return bool(self._ahead[0])
        return super().check_action(action, parameters)

    @on(FadingList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.query_one(FadingList).current
        if row is not None:
            self.tune_app.open_tune(row.tune)

    def action_check(self) -> None:
        """Ask for the tune under the cursor."""
        row = self.query_one(FadingList).current
        if row is not None:
            self.ask_for(row.tune)

    def action_ahead(self, steps: int) -> None:
        """Look further ahead, or less far."""
        self._chosen = max(0, min(len(HORIZONS) - 1, self._chosen + steps))
        self._show()
