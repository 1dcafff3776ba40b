"""Dates to be ready for, and days off."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.ui.actions import SET, bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_dates import NO_DATES, DateRow
from tunememory.ui.paths import expanded
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.screens.confirm import ConfirmScreen
from tunememory.ui.screens.date_form import DateForm, DayOffForm
from tunememory.ui.screens.pick import PickScreen
from tunememory.ui.text import lines, plain, say
from tunememory.ui.widgets.date_rows import DateRows
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType


class DatesScreen(DeskScreen[None]):
    """The list of dates, soonest first; those that have been and are not told of on top."""

    HEAD = "Dates"
    CSS = """
    DatesScreen DateRows { padding-top: 1; }
    DatesScreen.-short DateRows { padding: 0; }
    DatesScreen #about { height: 2; padding: 0 2; color: $quiet; }
    DatesScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_date", "open", "Open this date, or say what was played there"),
        bind("n,a", "add", "new date", "Put in a date"),
        bind("e", "edit", "change", "Change this date"),
        bind("o", "off", "days off", "Put in days off: a rest day, a holiday"),
        bind("x", "remove", "remove", "Take this date or these days off out"),
        bind("s", "app.open('sets')", f"{SET}s", f"Go to the {SET}s", shown=False),
        bind("i", "take", "import", "Bring in a calendar file (.ics)", shown=False),
        bind("w", "export", "export", "Write all dates to a calendar file (.ics)", shown=False),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def body(self) -> ComposeResult:
        """The list, and a line about the date under the cursor."""
        yield DateRows()
        yield Static(id="about")
        yield Static(lines(*(plain(row) for row in NO_DATES)), id="none")

    @property
    def _rows(self) -> DateRows:
        return self.query_one(DateRows)

    def fill(self) -> None:
        """Show the dates, the cursor where it was."""
        views = self.desk.all_dates()
        rows = (
            *(DateRow(past=past) for past in self.desk.dates_to_tell()),
            *(DateRow(view=view) for view in views),
            *(DateRow(off=off) for off in self.desk.all_days_off()),
        )
        # At first on the next date; what is still to be told stands above it.
        first = next((n for n, row in enumerate(rows) if row.view is not None), 0)
        self._rows.show(rows, self._rows.cursor if self._rows.rows else first)
        self._rows.display = self.query_one("#about").display = bool(rows)
        self.query_one("#none").display = not rows
        self._rows.focus()
        self.head(right=counted(len(views), "date") if views else "")
        self._about()

    @on(DateRows.Highlighted)
    def _about(self) -> None:
        row = self._rows.current
        view = row.view if row else None
        said = " · ".join(filter(None, (view.when, view.kind, view.place))) if view else ""
        self.query_one("#about", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done with the line one is on."""
        row = self._rows.current
        if action == "open_date":
            return row is not None and row.off is None
        if action == "edit":
            return row is not None and row.view is not None
        if action == "remove":
            return row is not None and row.past is None
        return super().check_action(action, parameters)

    @on(DateRows.Chosen)
    def action_open_date(self) -> None:
        """Open the date, or ask what was played at it."""
        row = self._rows.current
        if row is not None and row.past is not None:
            self.tune_app.open_screen("played", past=row.past)
        elif row is not None and row.view is not None:
            self.tune_app.open_screen("date", uuid=row.view.uuid)

    def action_add(self) -> None:
        """Put in a date, then pick its tunes."""
        self.app.push_screen(DateForm(), self._added)

    def _added(self, uuid: str | None) -> None:
        if uuid:
            question = "Which tunes are wanted there?"
            self.app.push_screen(PickScreen(question, many=True), partial(self._picked, uuid))

    def _picked(self, uuid: str, tunes: tuple[str, ...] | None) -> None:
        with self.trying():
            if tunes:
                draft = self.desk.date_draft(uuid)
                self.desk.save_date(replace(draft, tunes=tunes), uuid)
            self.tune_app.open_screen("date", uuid=uuid)

    def action_edit(self) -> None:
        """Change the date."""
        row = self._rows.current
        if row is not None and row.view is not None:
            self.app.push_screen(DateForm(row.view.uuid), self._changed)

    def action_off(self) -> None:
        """Put in days off."""
        self.app.push_screen(DayOffForm(), self._changed)

    def _changed(self, _: str | None) -> None:
        self.refill()

    def action_remove(self) -> None:
        """Take the date out after asking; days off at once."""
        row = self._rows.current
        if row is not None and row.off is not None:
            with self.trying():
                self.desk.remove_day_off(row.off.uuid)
                self.refill()
        elif row is not None and row.view is not None:
            ask = ConfirmScreen(f"Take “{row.view.title}” out?", "take it out", "leave it")
            self.app.push_screen(ask, partial(self._remove, row.view.uuid))

    def _remove(self, uuid: str, sure: bool | None) -> None:
        if sure:
            with self.trying():
                self.desk.remove_date(uuid)
                self.refill()

    def action_take(self) -> None:
        """Bring in a calendar."""
        ask = AskLine("Bring in which calendar?", self._take, hint="a .ics file")
        self.app.push_screen(ask, self._changed)

    def _take(self, typed: str) -> None:
        taken = self.desk.import_dates(expanded(typed.strip()))
        said = f"{counted(taken.taken, 'date')} taken, {taken.changed} changed"
        if taken.left_out:
            line, why = taken.left_out[0]
            said += f"; {len(taken.left_out)} left out (line {line}: {why})"
        say(self.tune_app, f"{said}.", "warning" if taken.left_out else "calm")

    def action_export(self) -> None:
        """Write the dates out."""
        self.app.push_screen(AskLine("Write all dates to", self._export, "dates.ics"))

    def _export(self, typed: str) -> None:
        path = expanded(typed.strip())
        self.desk.export_dates(path)
        say(self.tune_app, f"Written to {path}.")
