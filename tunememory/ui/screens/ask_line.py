"""One line to write, over the screen that asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import told
from tunememory.ui.suggesting import TitleSuggester
from tunememory.ui.text import Piece, joined, plain
from tunememory.ui.widgets.line_input import LineInput

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType


class AskLine(ModalScreen[str]):
    """Asks for a line; gives what was kept, or ``None`` when it was left out.

    Args:
        question: What is asked.
        keep: Does what is to be done with the line; an error of the service is said under the
            line, which stays.
        given: What stands on the line at first.
        hint: Shown on an empty line.
        words: What Enter and Escape are called.
        titles: Titles of tunes that are completed as one types.
    """

    AUTO_FOCUS = "LineInput"
    CSS = """
    AskLine { align: center middle; background: $background 60%; }
    AskLine > Vertical {
        width: 72; max-width: 96%; height: auto; padding: 1 3; background: $raised;
        border: round $staff;
    }
    AskLine Static { height: auto; }
    AskLine LineInput { width: 1fr; margin: 1 0; background: $mark-bg; }
    AskLine #wrong { color: $lost; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape", "leave_out", "leave out", "Leave the line out"),
    ]

    def __init__(
        self,
        question: str,
        keep: Callable[[str], object],
        given: str = "",
        hint: str = "",
        words: tuple[str, str] = ("keep", "leave it out"),
        titles: Sequence[str] = (),
    ) -> None:
        super().__init__()
        self._question = question
        self._keep = keep
        self._given = given
        self._hint = hint
        self._words = words
        self._titles = titles

    def compose(self) -> ComposeResult:
        """The question, the line, what is wrong with it, the two keys."""
        accent = "bold $accent"
        keep, leave = self._words
        with Vertical():
            yield Static(plain(self._question))
            line = LineInput(self._hint)
            line.suggester = TitleSuggester(self._titles) if self._titles else None
            line.value = self._given
            yield line
            yield Static(id="wrong")
            keys: list[Piece] = [("enter", accent), f" {keep}     ", ("esc", accent), f" {leave}"]
            if self._titles:
                keys += ["     ", ("→", accent), " take the name offered"]
            yield Static(joined(*keys))

    def on_mount(self) -> None:
        """Take no room for what is wrong while nothing is."""
        self.query_one("#wrong").display = False

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        self.query_one(LineInput).take(event)

    @on(LineInput.Submitted)
    def _done(self, event: LineInput.Submitted) -> None:
        event.stop()
        try:
            self._keep(event.value)
        except Exception as error:
            if not told(error):
                raise
            wrong = self.query_one("#wrong", Static)
            wrong.update(plain(str(error)))
            wrong.display = True
            return
        self.dismiss(event.value)

    def action_leave_out(self) -> None:
        """Close without the line."""
        self.dismiss(None)
