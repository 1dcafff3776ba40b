"""One set: its tunes in order, and the joins between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.service.errors import ServiceError
from tunememory.ui.actions import SET, bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_sets import SetRow, join_words, set_rows, standing_words
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.screens.confirm import ConfirmScreen
from tunememory.ui.screens.pick import PickScreen
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.set_rows import SetRows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.service.date_views import SetView


class SetPage(DeskScreen[None]):
    """The page of one set.

    Args:
        uuid: Identity of the set.
    """

    CSS = """
    SetPage #stands { height: auto; padding: 1 2; }
    SetPage.-short #stands { padding: 0 2 1 2; }
    SetPage #about { height: 3; padding: 0 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("c", "check", "ask it",
             f"Ask for this {SET}: its first tune, then what comes after each"),
        bind("u,shift+up", "shift(-1)", "earlier", "Play this tune earlier", key="u"),
        bind("d,shift+down", "shift(1)", "later", "Play this tune later", key="d"),
        bind("t", "tunes", "tunes", "Pick the tunes anew"),
        bind("r", "rename", "name", "Give it another name"),
        bind("x", "remove", "remove", "Take it apart; its tunes stay"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]  # fmt: skip

    def __init__(self, uuid: str) -> None:
        super().__init__()
        self.uuid = uuid
        self._view: SetView | None = None
        self._gone = False

    def body(self) -> ComposeResult:
        """How it stands, its tunes and joins, and how the join under the cursor came."""
        yield Static(id="stands")
        yield SetRows()
        yield Static(id="about")

    def fill(self) -> None:
        """Write the page anew, the cursor on the row it was on."""
        if self._gone:
            return
        try:
            self._view = view = self.desk.set_view(self.uuid)
        except ServiceError as error:
            say(self.tune_app, str(error), "error")
            self._close()
            return
        self.head(left=view.name, right="ready" if view.ready else "not yet")
        self.query_one("#stands", Static).update(plain(standing_words(view)))
        rows = self.query_one(SetRows)
        rows.today = self.desk.day()
        rows.show(set_rows(view), rows.cursor)
        rows.focus()
        self._moved()

    @property
    def _here(self) -> SetRow | None:
        return self.query_one(SetRows).current

    @on(SetRows.Highlighted)
    def _moved(self) -> None:
        join = self._here.join if self._here else None
        said = join_words(join, self.desk.day()) if join else ""
        self.query_one("#about", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A join is moved by moving its tunes."""
        if action in {"open_tune", "shift"}:
            return self._here is not None and self._here.tune is not None
        return super().check_action(action, parameters)

    @on(SetRows.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        if self._here is not None and self._here.tune is not None:
            self.tune_app.open_tune(self._here.tune.tune)

    def action_check(self) -> None:
        """Ask for the first tune and every join, in a loose round."""
        with self.trying():
            planned = self.desk.plan_set(self.uuid)
            self.tune_app.open_screen("round", run=self.desk.begin(planned), planned=planned)

    def action_shift(self, places: int) -> None:
        """Move the tune under the cursor; the cursor goes with it."""
        here, view = self._here, self._view
        if here is None or view is None:
            return
        tunes = [tune.tune for tune in view.tunes]
        to = here.place + places
        if 0 <= to < len(tunes):
            tunes.insert(to, tunes.pop(here.place))
            rows = self.query_one(SetRows)
            rows.set_reactive(SetRows.cursor, 2 * to)
            self._keep(tunes)

    def _keep(self, tunes: Sequence[str], name: str | None = None) -> None:
        with self.trying():
            kept = self.desk.sets[self.uuid].name if name is None else name
            self.desk.save_set(kept, tunes, self.uuid)
            self.refill()

    def action_tunes(self) -> None:
        """Pick the tunes anew."""
        if self._view is not None:
            picked = [tune.tune for tune in self._view.tunes]
            ask = PickScreen("Which tunes, in which order?", picked, many=True)
            self.app.push_screen(ask, self._picked)

    def _picked(self, tunes: tuple[str, ...] | None) -> None:
        if tunes is not None:
            self._keep(tunes)

    def action_rename(self) -> None:
        """Ask for a name."""
        given = self.desk.sets[self.uuid].name
        self.app.push_screen(
            AskLine("What do you call it?", self._rename, given, "empty: by its tunes")
        )

    def _rename(self, name: str) -> None:
        if self._view is not None:
            self._keep([tune.tune for tune in self._view.tunes], name)

    def action_remove(self) -> None:
        """Ask, then take it apart."""
        if self._view is not None:
            ask = ConfirmScreen(f"Take “{self._view.name}” apart?", "take it apart", "leave it")
            self.app.push_screen(ask, self._remove)

    def _remove(self, sure: bool | None) -> None:
        if sure:
            with self.trying():
                self.desk.remove_set(self.uuid)
                self._close()

    def _close(self) -> None:
        self._gone = True
        self.dismiss(None)
