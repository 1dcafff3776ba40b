"""Settings: one line each, changed with left and right, kept at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Input, Static

from tunememory.service.errors import ServiceError
from tunememory.store.errors import RepertoireError
from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.setting_fields import FIELDS, Field
from tunememory.ui.text import Span, cell, plain
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.service.settings import Settings

LABEL = 24
"""Cells of the names of settings."""


class FieldList(RowList[tuple[Field, str]]):
    """The settings and their values."""

    def spans(self, row: tuple[Field, str], width: int) -> list[Span]:
        """Name on the left, value beside it."""
        field, value = row
        return [(cell(field.label, LABEL), "quiet"), (cell(value, max(0, width - LABEL)), "strong")]


class SettingsScreen(DeskScreen[None]):
    """What the player can choose."""

    HEAD = "Settings"
    DEFAULT_CSS = """
    SettingsScreen FieldList { margin: 1 2 0 0; }
    SettingsScreen #says { height: 4; margin: 0 2; color: $quiet; }
    SettingsScreen Input {
        display: none; height: 1; margin: 0 2; border: none; padding: 0; background: $mark-bg;
    }
    SettingsScreen.-typing Input { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("right", "turn(1)", "next value", "The next value", key="→"),
        bind("left", "turn(-1)", "value before", "The value before", key="←"),
        bind("enter", "change", "change", "Change this setting"),
        bind("escape,q", "back", "back", "Go back", key="esc"),
    ]

    def body(self) -> ComposeResult:
        """The list, one line about the marked setting, and a line to write on."""
        yield FieldList()
        yield Static(id="says")
        yield Input(compact=True)

    def fill(self) -> None:
        """Show the settings."""
        fields = self.query_one(FieldList)
        settings = self.desk.settings
        rows = tuple((field, field.shown(settings)) for field in FIELDS)
        fields.show(rows, fields.cursor)
        if not self.has_class("-typing"):
            fields.focus()
        self._explain()

    @property
    def _field(self) -> Field:
        return FIELDS[self.query_one(FieldList).cursor]

    @on(RowList.Highlighted)
    def _explain(self) -> None:
        self._say(self._field.says)

    def _say(self, text: str, style: str = "") -> None:
        self.query_one("#says", Static).update(plain(text, style), layout=False)

    @on(RowList.Chosen)
    def action_change(self) -> None:
        """Turn a choice on, or open the line to write on."""
        field = self._field
        if not field.typed:
            self.action_turn(1)
            return
        line = self.query_one(Input)
        line.value = str(getattr(self.desk.settings, field.name))
        self.add_class("-typing")
        line.focus()

    def action_turn(self, step: int) -> None:
        """Take the next value of the marked setting, or the one before."""
        if self._field.typed:
            if not self.has_class("-typing"):
                self.action_change()
            return
        self._keep(self._field.turned(self.desk.settings, step))

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        if self._keep(self._field.put(self.desk.settings, event.value.strip())):
            self._stop_typing()

    def _stop_typing(self) -> None:
        self.remove_class("-typing")
        self.query_one(FieldList).focus()

    def _keep(self, settings: Settings) -> bool:
        try:
            self.desk.save_settings(settings)
        except (ServiceError, RepertoireError) as error:
            # Where the eye is, beside the line that has to be written anew.
            self._say(str(error), "$lost")
            return False
        self.tune_app.apply_settings()
        self.fill()
        return True

    def action_back(self) -> None:
        """Leave the line, or the screen."""
        if self.has_class("-typing"):
            self._stop_typing()
        else:
            self.dismiss(None)
