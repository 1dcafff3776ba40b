"""A few lines to fill in, and what is said about them."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.suggester import SuggestFromList
from textual.widgets import Input

from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen, told
from tunememory.ui.screens.confirm import ConfirmScreen
from tunememory.ui.widgets.field import TABS, Field

if TYPE_CHECKING:
    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType


class Asked(NamedTuple):
    """A line of a form.

    Attributes:
        name: Its identity.
        label: What stands before it.
        given: What is on it at first.
        hint: Shown while it is empty.
        offers: Words to complete what is typed with.
    """

    name: str
    label: str
    given: str = ""
    hint: str = ""
    offers: tuple[str, ...] = ()


class FormLines(VerticalScroll, can_focus=False, inherit_bindings=False):
    """The lines; the arrows go from one to the next."""

    DEFAULT_CSS = "FormLines { height: 1fr; padding: 1 2 1 0; scrollbar-size-vertical: 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "app.focus_next", show=False),
        Binding("up", "app.focus_previous", show=False),
    ]


class FormScreen(DeskScreen[str]):
    """A form. Gives the identity of what was kept, or ``None``."""

    OPENS_AREAS = False
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+s,f2", "keep", "keep", "Keep what is typed and go back", key="ctrl+s"),
        bind("escape", "leave", "leave", "Leave the form", key="esc"),
        *TABS,
    ]

    ENTER_KEEPS: ClassVar[bool] = False
    """Whether Enter on any line keeps the form, instead of going to the next line."""

    def lines(self) -> tuple[Asked, ...]:
        """The lines to fill in; the desk is ready."""
        raise NotImplementedError

    def keep(self) -> str:
        """Keep what is typed and return the identity of it; a service error is said."""
        raise NotImplementedError

    def follow(self, name: str, text: str) -> str:
        """Return what to say under a line as it is typed; a service error says what is wrong."""
        del name, text
        return ""

    def body(self) -> ComposeResult:
        """One field a line."""
        with FormLines():
            for asked in self.lines():
                offers = SuggestFromList(asked.offers, case_sensitive=False)
                line = Input(
                    asked.given,
                    asked.hint,
                    compact=True,
                    select_on_focus=False,
                    suggester=offers if asked.offers else None,
                )
                yield Field(asked.label, line, id=asked.name)

    def on_mount(self) -> None:
        """Begin on the first line."""
        self._before = self.typed_all()
        self._inputs()[0].focus()

    def _inputs(self) -> list[Input]:
        return list(self.query(Input))

    def typed(self, name: str) -> str:
        """What is typed on a line."""
        return self.query_one(f"#{name} Input", Input).value.strip()

    def typed_all(self) -> list[str]:
        """Everything that is typed."""
        return [line.value for line in self._inputs()]

    def say_under(self, name: str, text: str, *, wrong: bool = False) -> None:
        """Say something under a line."""
        self.query_one(f"#{name}", Field).say(text, wrong=wrong)

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the first line had the focus."""
        if self.focused is None and event.is_printable and event.character is not None:
            self._inputs()[0].insert_text_at_cursor(event.character)
            event.stop()

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        """Say how a line is read; what is wrong can wait until it is left."""
        self._follow(event.input, complain=False)

    def on_descendant_blur(self, event: events.DescendantBlur) -> None:
        """Say what is wrong with a line that is left."""
        if isinstance(event.widget, Input):
            self._follow(event.widget, complain=True)

    def _follow(self, line: Input, *, complain: bool) -> None:
        field = line.query_ancestor(Field)
        try:
            field.say(self.follow(str(field.id), line.value.strip()))
        except Exception as error:
            if not told(error):
                raise
            field.say(str(error) if complain else "", wrong=complain)

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        if self.ENTER_KEEPS or event.input is self._inputs()[-1]:
            self.action_keep()
        else:
            self.focus_next()

    def action_keep(self) -> None:
        """Keep what is typed, or say what is wrong with it."""
        try:
            kept = self.keep()
        except Exception as error:
            if not told(error):
                raise
            self.say_under(self.lines()[0].name, str(error), wrong=True)
            self._inputs()[0].focus()
            return
        self.dismiss(kept)

    def action_leave(self) -> None:
        """Leave, asking only when something would be lost."""
        if self.typed_all() == self._before:
            self.dismiss(None)
            return
        question = "Leave without keeping what you typed?"
        self.app.push_screen(ConfirmScreen(question, "leave", "stay"), self._left)

    def _left(self, sure: bool | None) -> None:
        if sure:
            self.dismiss(None)
