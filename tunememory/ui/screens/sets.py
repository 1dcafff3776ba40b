"""Tunes played in a row: the list of them."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.screens.pick import PickScreen
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.set_rows import SetList
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

NONE = "None yet. Press n and pick tunes in the order they are played. The joins between them are "


class SetsScreen(DeskScreen[None]):
    """The sets (or medleys, as the player says)."""

    CSS = """
    SetsScreen SetList { padding-top: 1; }
    SetsScreen.-short SetList { padding: 0; }
    SetsScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_set", "open", "Open this one: its tunes and joins"),
        bind("n,a", "add", "new", "Put tunes in a row"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def body(self) -> ComposeResult:
        """The list."""
        yield SetList()
        yield Static(plain(f"{NONE}asked in rounds, like starts."), id="none")

    def fill(self) -> None:
        """Show the sets, the cursor where it was."""
        views = self.desk.all_sets()
        rows = self.query_one(SetList)
        rows.show(views, rows.cursor)
        rows.display = bool(views)
        self.query_one("#none").display = not views
        rows.focus()
        word = self.desk.settings.set_word
        self.head(left=f"{word.capitalize()}s", right=counted(len(views), word) if views else "")
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done."""
        if action == "open_set":
            return bool(self.query_one(SetList).rows)
        return super().check_action(action, parameters)

    @on(SetList.Chosen)
    def action_open_set(self) -> None:
        """Open the one under the cursor."""
        view = self.query_one(SetList).current
        if view is not None:
            self.tune_app.open_screen("set", uuid=view.uuid)

    def action_add(self) -> None:
        """Pick the tunes, then a name or none."""
        self.app.push_screen(PickScreen("Which tunes, in which order?", many=True), self._picked)

    def _picked(self, tunes: tuple[str, ...] | None) -> None:
        if not tunes:
            return
        word = self.desk.settings.set_word
        if len(tunes) < 2:
            say(self.tune_app, f"a {word} has two tunes or more", "error")
            return
        keep = partial(self._keep, tunes)
        self.app.push_screen(AskLine("What do you call it?", keep, hint="empty: by its tunes"))

    def _keep(self, tunes: tuple[str, ...], name: str) -> None:
        self.desk.save_set(name, tunes)
        self.call_after_refresh(self.refill)
