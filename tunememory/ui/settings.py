"""Settings: one line each, changed with left and right, kept at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on, work
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from tunememory.errors import NotDoneError
from tunememory.forecast.own_parameters import guess_with_other, guessed_with
from tunememory.music.fingering import INSTRUMENTS
from tunememory.session import open_session
from tunememory.settings import (
    ASKED_BY,
    ENTRY_FORMS,
    LOUDNESS,
    SET_WORDS,
    SHOWN_AS,
    THEMES,
    Settings,
)
from tunememory.ui.actions import bind
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import Span, cell, plain
from tunememory.ui.widgets import RowList
from tunememory.words import counted

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.forecast.own_parameters import InUse


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting.

    Attributes:
        name: Field of ``Settings``.
        label: What it is called.
        says: One line about it.
        choices: Its values where there are few.
        step: What one turn adds to a number, 0 for anything else.
        unit: Word after a number.
        typed: It is written by hand.
    """

    name: str
    label: str
    says: str
    choices: tuple[Any, ...] = ()
    step: float = 0
    unit: str = ""
    typed: bool = False

    def shown(self, settings: Settings) -> str:
        """Return the value in words."""
        value = getattr(settings, self.name)
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, (int, float)):
            return f"{value:g} {self.unit}".strip()
        if self.name == "standing_tuning" and not value:
            return f"{settings.usual_tuning} (the usual one)"
        return str(value)

    def turned(self, settings: Settings, step: int) -> Settings:
        """Return settings with the next value (1) or the one before (-1)."""
        value = getattr(settings, self.name)
        if self.choices:
            place = self.choices.index(value) if value in self.choices else 0
            return self.put(settings, self.choices[(place + step) % len(self.choices)])
        if self.step:
            return self.put(settings, type(value)(value + step * self.step))
        return settings

    def put(self, settings: Settings, value: object) -> Settings:
        """Return settings with ``value``; it is not checked here."""
        if self.name == "instrument":
            return settings.played_on(str(value))
        changed: dict[str, Any] = {self.name: value}
        return replace(settings, **changed)


SETTINGS = (
    Setting("minutes_first", "First round", "How long the first round may take.", step=1,
          unit="min"),
    Setting("minutes_last", "Last round", "How long the last round may take.", step=1, unit="min"),
    Setting("instrument", "Instrument",
          "Whether fingers or frets are shown, and what lies beyond it. Each keeps its tunings.",
          tuple(INSTRUMENTS)),
    Setting("standing_tuning", "Instrument stands in",
          "Strings, low first, or a nickname. Empty is the usual tuning.", typed=True),
    Setting("usual_tuning", "Usual tuning", "Tuning of every tune that names none.", typed=True),
    Setting("intake", "New tunes at a time",
          "At most this many tunes in learning are asked for.", step=1),
    Setting("shown_as", "Starts are shown as", "Letters, fingers, or both.", SHOWN_AS),
    Setting("entry_form", "Starts are typed as",
          "What is meant when a start is typed without a prefix.", ENTRY_FORMS),
    Setting("theme", "Light", "Lamp-light is dark, paper is light.", THEMES),
    Setting("animations", "Movement", "Whether the screen may glide.", (False, True)),
    Setting("asked_by", "“What's this one?” is",
          "A start to be named is shown, heard on a plucked string, or both.", ASKED_BY),
    Setting("drone", "Drone", "Open strings of the root sound under a start.", (False, True)),
    Setting("loudness", "Loudness", "How loud a start sounds.", LOUDNESS),
    Setting("set_word", "Tunes in a row", "What you call tunes played in a row.", SET_WORDS),
    Setting("day_ends_at", "A day ends at", "What is played before this hour counts for the day "
          "before.", step=1, unit="in the morning"),
)  # fmt: skip
"""Every setting, in the order it is shown."""

LABEL = 24
"""Cells of the names of settings."""


def setting_spans(row: tuple[Setting, str], width: int) -> list[Span]:
    """Write a setting: its name on the left, its value beside it."""
    setting, value = row
    return [(cell(setting.label, LABEL), "quiet"), (cell(value, max(0, width - LABEL)), "strong")]


def guess_words(used: InUse) -> str:
    """Say what guesses rest on."""
    if used.fitted_on is None:
        return "Guesses rest on the starting values."
    checks = counted(used.checks, "check")
    return f"Guesses rest on your own {checks}, learned on {used.fitted_on.isoformat()}."


class SettingsScreen(SessionScreen[None]):
    """What the player can choose."""

    HEAD = "Settings"
    DEFAULT_CSS = """
    SettingsScreen RowList { margin: 1 2 0 0; }
    SettingsScreen #guess { height: 1; margin: 0 2; color: $quiet; }
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
        bind("g", "guess", "guess otherwise",
             "Guess with the starting values, or again with what was learned from you"),
        bind("escape,q", "back", "back", "Go back", key="esc"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._worker: Worker[None] | None = None
        self._other = False

    def body(self) -> ComposeResult:
        """The list, what guesses rest on, a line about the marked setting, one to write on."""
        yield RowList(setting_spans)
        yield Static(id="guess")
        yield Static(id="says")
        yield Input(compact=True)

    def fill(self) -> None:
        """Show the settings."""
        fields = self.query_one(RowList)
        settings = self.session.settings
        rows = tuple((setting, setting.shown(settings)) for setting in SETTINGS)
        fields.show(rows, fields.cursor)
        if not self.has_class("-typing"):
            fields.focus()
        self._explain()
        self._show_guess()

    def _show_guess(self) -> None:
        """Say what chances are worked out with."""
        used = guessed_with(self.session)
        self._other = used.other
        self.query_one("#guess", Static).update(plain(guess_words(used)), layout=False)
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer to guess otherwise only when there is another way."""
        if action == "guess":
            return self._other and self._worker is None
        return super().check_action(action, parameters)

    def action_guess(self) -> None:
        """Guess otherwise; every belief is worked out anew, away from the keys."""
        self.query_one("#guess", Static).update(plain("Working it out anew …"), layout=False)
        self._worker = self._guess_otherwise()
        self.refresh_bindings()

    @work(thread=True, exclusive=True, group="guess", exit_on_error=False)
    def _guess_otherwise(self) -> None:
        with open_session(self.session.path, self.session.clock) as session:
            guess_with_other(session)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Go on with the other guesses, or say why not."""
        if event.worker is not self._worker or not event.worker.is_finished:
            return
        self._worker = None
        error = event.worker.error
        if event.state is WorkerState.ERROR and error is not None:
            if not isinstance(error, NotDoneError):
                raise error
            self._say(str(error), "$lost")
        self.session.reload()
        self._show_guess()

    @property
    def _setting(self) -> Setting:
        return SETTINGS[self.query_one(RowList).cursor]

    @on(RowList.Highlighted)
    def _explain(self) -> None:
        self._say(self._setting.says)

    def _say(self, text: str, style: str = "") -> None:
        self.query_one("#says", Static).update(plain(text, style), layout=False)

    @on(RowList.Chosen)
    def action_change(self) -> None:
        """Turn a choice on, or open the line to write on."""
        setting = self._setting
        if not setting.typed:
            self.action_turn(1)
            return
        line = self.query_one(Input)
        line.value = str(getattr(self.session.settings, setting.name))
        self.add_class("-typing")
        line.focus()

    def action_turn(self, step: int) -> None:
        """Take the next value of the marked setting, or the one before."""
        if self._setting.typed:
            if not self.has_class("-typing"):
                self.action_change()
            return
        self._keep(self._setting.turned(self.session.settings, step))

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        if self._keep(self._setting.put(self.session.settings, event.value.strip())):
            self._stop_typing()

    def _stop_typing(self) -> None:
        self.remove_class("-typing")
        self.query_one(RowList).focus()

    def _keep(self, settings: Settings) -> bool:
        try:
            self.session.save_settings(settings)
        except NotDoneError as error:
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
