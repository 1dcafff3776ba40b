"""One question with yes or no, before something that cannot be taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from tunememory.ui.actions import bind
from tunememory.ui.text import joined, plain

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType


class ConfirmScreen(ModalScreen[bool]):
    """Asks; gives ``True`` for yes. Escape and ``n`` are no."""

    AUTO_FOCUS = ""
    CSS = """
    ConfirmScreen { align: center middle; background: $background 60%; }
    ConfirmScreen > Vertical {
        width: auto; max-width: 90%; height: auto; padding: 1 3; background: $raised;
        border: round $staff;
    }
    ConfirmScreen Static { width: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("y", "answer(True)", "yes", "Yes"),
        bind("n,escape", "answer(False)", "no", "No, leave it as it is"),
    ]

    def __init__(self, question: str, yes: str = "yes", no: str = "no") -> None:
        super().__init__()
        self._question = question
        self._words = (yes, no)

    def compose(self) -> ComposeResult:
        """The question, and the two keys under it."""
        yes, no = self._words
        with Vertical():
            yield Static(plain(self._question))
            yield Static(
                joined("\n", ("y", "bold $accent"), f" {yes}     ", ("n", "bold $accent"), f" {no}")
            )

    def action_answer(self, answer: bool) -> None:
        """Close with the answer."""
        self.dismiss(answer)
