"""The card for the case, as it will be printed; one key writes it to a file."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.paper import Paper
from tunememory.teaching.card import card_for, card_text, write_card
from tunememory.ui.actions import SET, bind
from tunememory.ui.questions import AskLine
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.fields import expanded
from tunememory.ui.widgets.lists import LineList

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType


WIDEST = 64
"""Characters in a line of the card, as in print."""


class CardScreen(SessionScreen[None]):
    """A card on the screen.

    Args:
        what: Name of a date or a set, a status or a state; empty is all.
    """

    HEAD = "Card"
    CSS = """
    CardScreen LineList { padding-top: 1; }
    CardScreen.-short LineList { padding: 0; }
    CardScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("w", "write", "write", "Write the card to a file: .html to print, .txt as it is"),
        bind("s", "paper", "paper", "Print on the next size of paper: A6, A5, A4 in two columns"),
        bind("o", "of", "card of …", f"Make a card of a date, a {SET}, a status or a state"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def __init__(self, what: str = "") -> None:
        super().__init__()
        self._what = what
        self._shown = False
        self._paper = Paper.A6

    def body(self) -> ComposeResult:
        """The card, a line of text a row."""
        yield LineList()
        yield Static(id="none")

    def fill(self) -> None:
        """Make the card anew."""
        lines, heading, why = [], "", ""
        try:
            card = card_for(self.session, self._what)
            heading = card.heading
            lines = card_text(card, max(30, min(WIDEST, self.size.width - 6))).splitlines()
        except NotDoneError as error:
            why = str(error)
        self._shown = bool(lines)
        rows = self.query_one(LineList)
        rows.show(tuple([(line, "")] for line in lines), rows.cursor)
        rows.display = self._shown
        none = self.query_one("#none", Static)
        none.display = not self._shown
        none.update(plain(why))
        rows.focus()
        self.head(right=f"{heading} · {self._paper}" if heading else "")
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a card there is nothing to write."""
        if action in {"write", "paper"}:
            return self._shown
        return super().check_action(action, parameters)

    def action_paper(self) -> None:
        """Take the next size of paper."""
        sizes = list(Paper)
        self._paper = sizes[(sizes.index(self._paper) + 1) % len(sizes)]
        self.refill()

    def action_of(self) -> None:
        """Ask what the card is to be of."""
        question = f"A card of which date, {self.session.settings.set_word}, status or state?"
        self.app.push_screen(AskLine(question, self._of, self._what, "empty: all tunes"))

    def _of(self, what: str) -> None:
        card_for(self.session, what)
        self._what = what
        self.query_one(LineList).cursor = 0
        self.call_after_refresh(self.refill)

    def action_write(self) -> None:
        """Ask for a path and write the card there."""
        ask = AskLine("Write the card to", self._write, "card.html", "a .html or .txt file")
        self.app.push_screen(ask)

    def _write(self, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        write_card(card_for(self.session, self._what), path, self._paper)
        say(self.tune_app, f"Written to {path}.")
