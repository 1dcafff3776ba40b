"""Tonight: what shall I start, what have I in A, one sure starter a key."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.dates.tonight import one_for_each_key, tunes_in_key, what_to_start
from tunememory.ui.actions import bind
from tunememory.ui.library.sets import TonightRow, about_words, in_key_rows, tonight_spans
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import plain
from tunememory.ui.widgets.lists import RowList

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType


NOTHING = "Nothing of yours would start just now in this tuning."
NO_KEY = "Press a letter, a to g: what have I in that key?"


class TonightScreen(SessionScreen[None]):
    """Answers to a mind gone blank.

    Args:
        at: The date whose place counts; empty is the nearest.
    """

    HEAD = "What shall I start?"
    CSS = """
    TonightScreen RowList { padding-top: 1; }
    TonightScreen.-short RowList { padding: 0; }
    TonightScreen #about { height: 2; padding: 0 2; color: $quiet; }
    TonightScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("s", "start", "start", "What shall I start? Sure ones, not played there lately"),
        bind("o", "one", "one a key", "One sure starter for each key"),
        *(bind(letter, f"in_key('{letter.upper()}')", "in A …" if letter == "a" else "",
               "What have I in this key", key="a–g", shown=letter == "a") for letter in "abcdefg"),
        bind("number_sign,plus", "bend('#')", "", "The same key sharp", key="#", shown=False),
        bind("minus", "bend('b')", "", "The same key flat", key="-", shown=False),
        bind("p", "app.open('card')", "card", "Go to the card for the case"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]  # fmt: skip

    def __init__(self, at: str = "") -> None:
        super().__init__()
        self._at = at
        self._asked = "start"
        self._key = ""

    def body(self) -> ComposeResult:
        """The answers, and a line about the one under the cursor."""
        yield RowList(tonight_spans)
        yield Static(id="about")
        yield Static(plain(NOTHING), id="none")

    def fill(self) -> None:
        """Answer again: another window may have changed something."""
        self._show()
        self.query_one(RowList).focus()

    def _show(self) -> None:
        with self.trying():
            rows = self.query_one(RowList)
            rows.show(self._answers())
            rows.display = self.query_one("#about").display = bool(rows.rows)
            self.query_one("#none").display = not rows.rows
            none = f"Nothing of yours is in {self._key}." if self._asked == "key" else NOTHING
            self.query_one("#none", Static).update(plain(f"{none} {NO_KEY}"))
            self._about()

    def _answers(self) -> tuple[TonightRow, ...]:
        tuning = self.session.settings.standing.letters
        if self._asked == "key":
            self.head(f"What have I in {self._key}?", "all tunings")
            return in_key_rows(tunes_in_key(self.session, self._key))
        if self._asked == "one":
            self.head("One a key", tuning)
            found = one_for_each_key(self.session)
            return tuple(
                TonightRow(key, one) if one else TonightRow(f"{key:<4}no sure one")
                for key, one in found
            )
        self.head("What shall I start?", tuning)
        return tuple(TonightRow("", one) for one in what_to_start(self.session, at=self._at))

    @on(RowList.Highlighted)
    def _about(self) -> None:
        row = self.query_one(RowList).current
        said = about_words(row.starter, self.session.day()) if row and row.starter else NO_KEY
        self.query_one("#about", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action == "open_tune":
            row = self.query_one(RowList).current
            return row is not None and row.starter is not None
        if action == "bend":
            return self._asked == "key"
        return super().check_action(action, parameters)

    def _ask(self, what: str) -> None:
        self._asked = what
        self._show()

    def action_start(self) -> None:
        """What shall I start?"""
        self._ask("start")

    def action_one(self) -> None:
        """One sure starter a key."""
        self._ask("one")

    def action_in_key(self, letter: str) -> None:
        """What have I in this key?"""
        self._key = letter
        self._ask("key")

    def action_bend(self, sign: str) -> None:
        """The same key sharp or flat, or plain again."""
        letter = self._key[0]
        self._key = letter if self._key == letter + sign else letter + sign
        self._ask("key")

    @on(RowList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.query_one(RowList).current
        if row is not None and row.starter is not None:
            self.tune_app.open_tune(row.starter.tune)
