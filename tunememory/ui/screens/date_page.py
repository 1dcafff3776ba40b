"""A date's page: which of its tunes would start now, and which on the day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.planning.readiness import Readiness
from tunememory.service.errors import ServiceError
from tunememory.ui.actions import SET, bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_dates import date_lines
from tunememory.ui.screens.date_form import DateForm
from tunememory.ui.screens.pick import PickScreen, sets_to_pick
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.date_rows import DateTuneRows
from tunememory.ui.widgets.lines import Lines

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.service.date_views import DateView

NO_TUNES = "No tunes are wanted here yet. Press t to pick them, s for {word}s."


class DatePage(DeskScreen[None]):
    """The page of one date.

    Args:
        uuid: Identity of the date.
    """

    CSS = """
    DatePage #facts { padding: 1 2 1 2; }
    DatePage.-short #facts { padding: 0 2; }
    DatePage #none { display: none; height: 1fr; padding: 0 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("r", "round", "ask them", "Ask for those that are not ready yet, one after the other"),
        bind("c", "check", "check", "Ask for this tune now"),
        bind("t", "tunes", "tunes", "Pick the tunes that are wanted there"),
        bind("s", "sets", f"{SET}s", f"Pick the {SET}s that are wanted there"),
        bind("e", "edit", "change", "Change this date"),
        bind("p", "card", "card", "Make a card of its tunes for the case"),
        bind("o", "tonight", "what to start", "What to start there", shown=False),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def __init__(self, uuid: str) -> None:
        super().__init__()
        self.uuid = uuid
        self._view: DateView | None = None

    def body(self) -> ComposeResult:
        """What the date is, over its tunes."""
        yield Lines(id="facts")
        yield DateTuneRows()
        yield Static(id="none")

    def fill(self) -> None:
        """Write the page anew."""
        try:
            self._view = view = self.desk.date_view(self.uuid)
        except ServiceError as error:
            say(self.tune_app, str(error), "error")
            self.dismiss(None)
            return
        today, word = self.desk.day(), self.desk.settings.set_word
        facts = self.query_one("#facts", Lines)
        facts.show(lambda width: date_lines(view, today, width, set_word=word))
        self.query_one("#none", Static).update(plain(NO_TUNES.format(word=word)))
        rows = self.query_one(DateTuneRows)
        here = rows.current
        place = next((n for n, row in enumerate(view.tunes) if here and row.tune == here.tune), 0)
        rows.over = view.on is None
        rows.show(view.tunes, place)
        rows.display = bool(view.tunes)
        self.query_one("#none").display = not view.tunes
        rows.focus()
        self.head(left=view.title, right="now → on the day" if view.tunes and not rows.over else "")
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action in {"open_tune", "check", "card"}:
            return bool(self.query_one(DateTuneRows).rows)
        if action == "round":
            return bool(self._not_ready)
        return super().check_action(action, parameters)

    @on(DateTuneRows.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.query_one(DateTuneRows).current
        if row is not None:
            self.tune_app.open_tune(row.tune)

    def action_check(self) -> None:
        """Ask for the tune under the cursor."""
        row = self.query_one(DateTuneRows).current
        if row is not None:
            self.ask_for(row.tune)

    @property
    def _not_ready(self) -> list[str]:
        view = self._view
        if view is None or view.on is None:
            return []
        return [tune.tune for tune in view.tunes if tune.readiness is not Readiness.READY]

    def action_round(self) -> None:
        """Ask for the tunes that are not ready, in a loose round."""
        with self.trying():
            planned = self.desk.plan_tunes(self._not_ready)
            self.tune_app.open_screen("round", run=self.desk.begin(planned), planned=planned)

    def action_tunes(self) -> None:
        """Pick the tunes."""
        with self.trying():
            picked = self.desk.date_draft(self.uuid).tunes
            ask = PickScreen("Which tunes are wanted there?", picked, many=True)
            self.app.push_screen(ask, self._tunes_picked)

    def _tunes_picked(self, tunes: tuple[str, ...] | None) -> None:
        if tunes is not None:
            with self.trying():
                draft = self.desk.date_draft(self.uuid)
                self.desk.save_date(replace(draft, tunes=tunes), self.uuid)
                self.refill()

    def action_sets(self) -> None:
        """Pick the sets."""
        with self.trying():
            picked = self.desk.date_draft(self.uuid).sets
            word = self.desk.settings.set_word
            ask = PickScreen(f"Which {word}s are wanted there?", picked, many=True,
                             read=sets_to_pick)  # fmt: skip
            self.app.push_screen(ask, self._sets_picked)

    def _sets_picked(self, sets: tuple[str, ...] | None) -> None:
        if sets is not None:
            with self.trying():
                draft = self.desk.date_draft(self.uuid)
                self.desk.save_date(replace(draft, sets=sets), self.uuid)
                self.refill()

    def action_edit(self) -> None:
        """Change the date."""
        self.app.push_screen(DateForm(self.uuid))

    def action_card(self) -> None:
        """Make a card of its tunes."""
        if self._view is not None:
            self.tune_app.open_screen("card", what=self._view.title)

    def action_tonight(self) -> None:
        """Say what to start there."""
        self.tune_app.open_screen("tonight", at=self.uuid)
