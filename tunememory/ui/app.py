"""The app: opens the repertoire, keeps the screens, leaves the terminal as it was found."""

from __future__ import annotations

import asyncio
import signal
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple
from weakref import WeakKeyDictionary

from textual.actions import SkipAction
from textual.app import App
from textual.binding import Binding
from textual.events import Key, Paste

from tunememory.errors import NotDoneError
from tunememory.ui.actions import bind, screen_class
from tunememory.ui.screen import LEAST_HEIGHT, LEAST_WIDTH, HeadLine, SessionScreen
from tunememory.ui.text import say
from tunememory.ui.theme import (
    CHOICES,
    LAMP_LIGHT,
    NO_COLOUR,
    PLAIN_THEME,
    THEMES,
    no_colour_wanted,
)
from tunememory.ui.today import TodayScreen

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from textual import events
    from textual.actions import ActionParseResult
    from textual.binding import BindingType
    from textual.command import Provider
    from textual.dom import DOMNode
    from textual.message_pump import MessagePump
    from textual.screen import Screen

    from tunememory.rounds.planning import RoundWish
    from tunememory.session import Session
    from tunememory.store.glance import Glance


LONGEST_WAIT = 0.5
"""Seconds after which a key is given its turn, whatever became of those before it."""


class _Handed(NamedTuple):
    """A key that was handed on, to whom, and the screen that was on top then."""

    key: Key
    to: MessagePump
    screen: Screen[object]


class KeysInOrder(App[int]):
    """An app whose keys go where they belong, in the order they were typed.

    Textual hands a key to what is on top when it comes in, and looks at the bindings only when it
    has come back from there. So a key typed right after one that opens another screen still goes
    to the old one. Here it is handed on to the new one, unless the old one had a use for it, and
    later keys wait for that. Keys that come before anything can be done with them wait as well.
    """

    def __init__(self, *, ansi_color: bool | None = None) -> None:
        super().__init__(ansi_color=ansi_color)
        self._early: list[Key] = []
        self._last: _Handed | None = None
        self._typed_on: WeakKeyDictionary[Key, Screen[object]] = WeakKeyDictionary()

    @property
    def hears(self) -> bool:
        """Whether anything can be done with a key yet; then ``hear_early_keys`` is called."""
        return True

    def hear_early_keys(self) -> None:
        """Give the keys that had to wait their turn, after what is under way now."""
        self.call_later(self._give_early_keys)

    async def on_event(self, event: events.Event) -> None:
        """Let keys wait, or hand them on to the screen that was opened before them."""
        if not isinstance(event, Key):
            await super().on_event(event)
        elif not self.screen_stack:
            return  # the app is closing: a key still on its way goes nowhere
        elif not event.is_forwarded:
            await self._take(event)
        else:
            typed_on = self._typed_on.pop(event, self.screen)
            if self._last is not None and self._last.key is event:
                self._last = None
            if typed_on is self.screen:
                await super().on_event(event)
            else:
                again = Key(event.key, event.character)
                again.time = event.time
                await self._hand(again)

    async def _take(self, key: Key) -> None:
        if not self.hears:
            # Leaving is always possible; private in Textual 8.2.8, which is pinned.
            if not await self._check_bindings(key.key, priority=True):
                self._early.append(key)
        elif self._early:
            self._early.append(key)
        elif (last := self._last) and last.screen is not self.screen and self._busy(last.to):
            self._early.append(key)
            self._follow(last.to)
            self.set_timer(LONGEST_WAIT, self._give_early_keys)
        else:
            await self._hand(key)

    async def _hand(self, key: Key) -> None:
        self._last = _Handed(key, self.focused or self.screen, self.screen)
        self._typed_on[key] = self.screen
        await super().on_event(key)

    def _busy(self, node: MessagePump | None) -> bool:
        """Whether something is still to be dealt with on the way of a key up to the app."""
        while node is not None and node is not self:
            if node.message_queue_size:
                return True
            node = node._parent
        return False

    def _follow(self, node: MessagePump | None) -> None:
        """Go the way of a key, behind it, from widget to widget up to the app."""
        while node is not None and node is not self:
            above = node._parent
            if node.call_later(self._follow, above):
                return
            node = above
        self.hear_early_keys()

    async def _give_early_keys(self) -> None:
        if self.hears and self._early:
            self._last = None
            early, self._early = self._early, []
            for key in early:
                await self.on_event(key)


_WIDTHS = [(0, "-tiny-width"), (LEAST_WIDTH, "-narrow"), (80, "-normal"), (110, "-wide")]
_HEIGHTS = [(0, "-tiny-height"), (LEAST_HEIGHT, "-short"), (24, "-middle"), (32, "-tall")]


def _palette() -> type[Provider]:
    from tunememory.ui.palette import ActionProvider  # noqa: PLC0415 - not needed to paint

    return ActionProvider


def _theme_of(first: Glance | None) -> str:
    named = first.theme.strip('"') if first else ""
    return named if named in CHOICES else LAMP_LIGHT


class TuneApp(KeysInOrder):
    """The whole program on screen.

    Args:
        open_session: Opens the repertoire; called once the first picture is painted.
        begin: A round to begin at once, instead of showing the day first.
        first: What a look at the file told, shown until then.

    Attributes:
        session: The open repertoire; ``None`` until the first picture is painted.
        fault: What ended the app, when it did not end by itself.
        learns: Whether new checks may be learned from in a process beside the app.
    """

    TITLE = "tunememory"
    CSS_PATH = str(Path(__file__).with_name("app.tcss"))
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {_palette}
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("question_mark,f1", "app.help", "help", "Show the keys of this screen", shown=False,
             key="? f1"),
        bind("ctrl+p", "command_palette", "", "Find an action by its name", shown=False),
        bind("ctrl+q", "quit", "", "Leave; everything is kept", shown=False, priority=True),
        # First of all keys, so that it works over a question too; text selected is copied still.
        Binding("ctrl+c", "interrupt", show=False, priority=True),
    ]  # fmt: skip

    HORIZONTAL_BREAKPOINTS = _WIDTHS
    VERTICAL_BREAKPOINTS = _HEIGHTS

    session: Session | None = None

    def __init__(
        self,
        open_session: Callable[[], Session],
        begin: RoundWish | None = None,
        first: Glance | None = None,
    ) -> None:
        plain = no_colour_wanted()
        # Textual chooses between grey and no colour at all by this, before any theme is set.
        super().__init__(ansi_color=True if plain else None)
        self.fault: Exception | None = None
        self._open_session = open_session
        self._begin = begin
        self.learns = False
        self._plain = plain
        self.first = first
        self._painted = False
        for each in (*THEMES, PLAIN_THEME):
            self.register_theme(each)
        self.theme = NO_COLOUR if plain else _theme_of(first)
        self.animation_level = "none"

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our own colours, for themes that lack them."""
        return PLAIN_THEME.variables

    def get_default_screen(self) -> Screen[None]:
        """Today is the screen at the bottom of the stack."""
        return TodayScreen()

    def on_mount(self) -> None:
        """Heed signals from now on."""
        self._heed_signals()

    def post_display_hook(self) -> None:
        """Read the repertoire once the first picture is on the terminal.

        Textual says so to what waits for the next picture only a frame later.
        """
        if not self._painted and self.screen.query(HeadLine):
            self._painted = True
            self.call_later(self._read)

    def _heed_signals(self) -> None:
        """End in order when the system says so, so that the terminal is left as it was."""
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                # Not every system and not every thread can do this.
                with suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(number, self._told_to_end, 128 + number)

    def _told_to_end(self, code: int) -> None:
        self.exit(code, return_code=code)

    def _read(self) -> None:
        try:
            self.session = self._open_session()
        except NotDoneError as error:
            self.fault = error
            self.exit(1, return_code=1)
            return
        self.apply_settings()
        for screen in self.screen_stack:
            if isinstance(screen, SessionScreen):
                screen.refill()
        if self._begin is not None and isinstance(self.screen, TodayScreen):
            self.screen.begin(self._begin)
        self.hear_early_keys()
        if self.learns:
            self._learn_later()

    def _learn_later(self) -> None:
        from tunememory.ui.refitting import AFTER, refit  # noqa: PLC0415 - not needed to paint

        self.set_timer(AFTER, lambda: self.run_worker(refit(self), group="fit"))

    @property
    def set_word(self) -> str:
        """What the player calls tunes played in a row."""
        return self.session.settings.set_word if self.session else "set"

    @property
    def hears(self) -> bool:
        """Whether the repertoire is open."""
        return self.session is not None

    @property
    def too_small(self) -> bool:
        """Whether nothing but a plea for more room is on the screen."""
        return self.size.width < LEAST_WIDTH or self.size.height < LEAST_HEIGHT

    async def on_event(self, event: events.Event) -> None:
        """Let nobody type or paste blind while the window is too small."""
        if self.too_small and isinstance(event, Key | Paste):
            # Bindings are still looked at, for leaving; private in Textual 8.2.8, which is pinned.
            if isinstance(event, Key) and not await self._check_bindings(event.key, priority=True):
                await self._check_bindings(event.key)
            return
        await super().on_event(event)

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Run an action; in a window too small to see what it does, only leaving runs."""
        if self.too_small and action not in {"quit", "app.quit", "interrupt"}:
            return False
        return await super().run_action(action, default_namespace, namespaces)

    def action_interrupt(self) -> None:
        """Leave, unless something is being typed; text that is selected is copied."""
        from textual.widgets import Input, TextArea  # noqa: PLC0415 - not needed to paint

        typing = self.focused if isinstance(self.focused, Input | TextArea) else None
        if (typing is not None and typing.selected_text) or self.screen.selections:
            raise SkipAction
        if typing is not None and not self.too_small:
            say(self, "ctrl+q leaves; everything is kept.")
        else:
            self.exit()

    def on_app_focus(self) -> None:
        """Show what another window wrote while this one was not looked at."""
        if self.session is not None and isinstance(self.screen, TodayScreen):
            self.screen.refill()

    def _handle_exception(self, error: Exception) -> None:
        self.fault = self.fault or error
        super()._handle_exception(error)

    def _fatal_error(self) -> None:
        # Textual would print the traceback with the values of variables; the caller writes the
        # report to a file instead. Private in Textual 8.2.8, which is pinned.
        self._close_messages_no_wait()

    def apply_settings(self) -> None:
        """Follow the settings that the app itself shows."""
        if self.session is None:
            return
        settings = self.session.settings
        self.theme = NO_COLOUR if self._plain else settings.theme
        self.animation_level = "full" if settings.animations else "none"

    def open_screen(
        self, name: str, callback: Callable[[object], None] | None = None, **arguments: Any
    ) -> None:
        """Open a screen by name; one that is already on the stack is gone back to.

        Args:
            name: A name of ``actions.AREAS``.
            callback: Called with what the screen is dismissed with.
            **arguments: Passed to the screen.
        """
        if self.session is None:
            return
        wanted = screen_class(name)
        if not arguments:
            while len(self.screen_stack) > 1 and any(
                type(screen) is wanted for screen in self.screen_stack[:-1]
            ):
                self.pop_screen()
            if type(self.screen) is wanted:
                return
        self.push_screen(wanted(**arguments), callback)

    def open_tune(self, uuid: str) -> None:
        """Open the page of a tune."""
        self.open_screen("tune", uuid=uuid)

    def action_open(self, name: str) -> None:
        """Open a screen by name."""
        self.open_screen(name)

    def action_command_palette(self) -> None:
        """Offer every action of this screen by its name."""
        from tunememory.ui.palette import Palette  # noqa: PLC0415 - not needed to paint

        if not isinstance(self.screen, Palette):
            self.push_screen(Palette(placeholder="What would you like to do?"))

    def action_help(self) -> None:
        """Show the keys of the screen on top."""
        from tunememory.ui.help import HelpScreen  # noqa: PLC0415 - not needed to paint

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))
