"""What every screen of ours is built on: head and key line, the session, an ear."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import on
from textual.events import Resize
from textual.message import Message
from textual.reactive import reactive
from textual.screen import Screen
from textual.widget import Widget

from tunememory.errors import NotDoneError
from tunememory.library.starts import sound_caution
from tunememory.ui.actions import acts_of
from tunememory.ui.text import cell, plain, say, width_of
from tunememory.ui.widgets import Sheet

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import TracebackType

    from textual.app import ComposeResult
    from textual.content import Content
    from textual.events import Click
    from textual.geometry import Region
    from textual.strip import Strip

    from tunememory.library.starts import Sound
    from tunememory.music.sound.player import Player
    from tunememory.rounds.planning import Planned
    from tunememory.session import Session
    from tunememory.ui.actions import Act
    from tunememory.ui.app import TuneApp
    from tunememory.ui.text import Span


MARGIN = 2
"""Cells left and right of both lines."""

GAP = "   "
"""Between two keys of the key line."""

LEAST_WIDTH = 40
LEAST_HEIGHT = 12
"""Below this size nothing but a plea for more room is shown."""


class HeadLine(Sheet):
    """One line at the top: where we are on the left, the day or the tuning on the right."""

    DEFAULT_CSS = """
    HeadLine { dock: top; height: 1; }
    """

    left = reactive("")
    right = reactive("")

    def render_lines(self, crop: Region) -> list[Strip]:
        """Lay both ends out."""
        width = self.size.width - 2 * MARGIN
        right = self.right if width_of(self.left) + width_of(self.right) + 3 <= width else ""
        room = width - width_of(right)
        self._rows = [[(" " * MARGIN, ""), (cell(self.left, room), "strong"), (right, "quiet")]]
        return super().render_lines(crop)


class KeyLine(Sheet):
    """One line at the bottom: the keys of this moment, as many as fit, and always help.

    Where text is typed, ``?`` is a letter like any other: ``f1`` is told instead.
    """

    DEFAULT_CSS = """
    KeyLine { dock: bottom; height: 1; }
    """

    def on_mount(self) -> None:
        """Follow the bindings of the screen."""
        self.screen.bindings_updated_signal.subscribe(self, self._keys_changed)

    def _keys_changed(self, _: Screen[object]) -> None:
        self._write()

    def on_resize(self) -> None:
        """Choose anew what fits."""
        self._write()

    def _write(self) -> None:
        self.show([self._row()])

    def _row(self) -> list[Span]:
        row: list[Span] = []
        for key, word, _ in self.entries():
            row += [(GAP if row else " " * MARGIN, ""), (key, "bright"), (f" {word}", "quiet")]
        return row

    def render_lines(self, crop: Region) -> list[Strip]:
        """Paint it, in the first picture before anybody had it written."""
        self._rows = self._rows or [self._row()]
        return super().render_lines(crop)

    def entries(self) -> list[tuple[str, str, str]]:
        """Key, word and action of what fits, left to right."""
        taker = self.screen.focused
        typed = taker is not None and taker.check_consume_key("question_mark", "?")
        always = ("f1" if typed else "?", "help", "app.help")
        room = self.size.width - 2 * MARGIN - width_of(" ".join(always[:2]))
        fitting: list[tuple[str, str, str]] = []
        screen = cast("SessionScreen[object]", self.screen)
        hushed = screen.hushed()
        offered: list[tuple[str, str, str]] = []
        for act in acts_of(screen):
            word = screen.word_of(act)
            if not word or not act.enabled or act.action in hushed:
                continue
            if offered and offered[-1][1] == word:
                # Keys of a group share one word, and no click can mean one of them.
                offered[-1] = (f"{offered[-1][0]} {act.key}", word, "")
            else:
                offered.append((act.key, word, act.action))
        for key, word, action in offered:
            taken = width_of(key) + 1 + width_of(word) + len(GAP)
            if taken > room:
                break
            room -= taken
            fitting.append((key, word, action))
        fitting.append(always)
        return fitting

    async def on_click(self, event: Click) -> None:
        """Do what stands under the mouse."""
        start = MARGIN
        for key, word, action in self.entries():
            end = start + width_of(key) + 1 + width_of(word)
            if action and start <= event.x < end:
                await self.screen.run_action(action)
                return
            start = end + len(GAP)


class TooSmall(Widget):
    """Covers everything when the terminal is too small to be of use."""

    DEFAULT_CSS = """
    TooSmall {
        layer: plea; width: 100%; height: 100%; display: none; background: $background;
    }
    """

    def render(self) -> Content:
        """The plea, with both sizes."""
        now = self.app.size
        return plain(
            f"Please make the terminal larger (now {now.width}x{now.height}, "
            f"needs {LEAST_WIDTH}x{LEAST_HEIGHT})."
        )


ResultT = TypeVar("ResultT")

LOW = 18
"""Rows below which a window is very low."""


class Trying:
    """Says an error that the player may see on the screen and goes on after the block."""

    def __init__(self, app: TuneApp) -> None:
        self._app = app

    def __enter__(self) -> None:
        """Begin."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> bool:
        """Whether the error was one that the player is told, and was said."""
        if not isinstance(error, NotDoneError):
            return False
        say(self._app, str(error), "error")
        return True


class SessionScreen(Screen[ResultT]):
    """A screen with a head line, a key line and the session.

    A subclass writes ``body`` (its widgets, without data) and ``fill`` (puts the session's data
    into them). ``fill`` runs when the session is ready and again whenever the screen comes back on
    top, so it must be safe to repeat. The screen carries the class ``-narrow`` below 80 columns,
    ``-short`` below 24 rows, ``-low`` below 18, ``-wide`` from 110 columns and ``-tall`` from 32
    rows.
    """

    AUTO_FOCUS = ""
    HEAD: ClassVar[str] = ""
    """Name of the screen, on the left of the head line."""

    OPENS_AREAS: ClassVar[bool] = True
    """Whether the palette offers to go elsewhere from here."""

    _composed = False
    _covered = False

    @property
    def tune_app(self) -> TuneApp:
        """The app, with its own type."""
        return cast("TuneApp", self.app)

    @property
    def session(self) -> Session:
        """The open repertoire; only from ``fill`` on."""
        session = self.tune_app.session
        assert session is not None, "the session is asked for before it is ready"  # noqa: S101 - a bug
        return session

    def compose(self) -> ComposeResult:
        """Head line, body, key line."""
        # Known before the children are there, the size classes cost no second styling of them all.
        self._take_size_classes()
        head = HeadLine()
        head.left = self.HEAD
        yield head
        yield from self.body()
        yield KeyLine()

    def _take_size_classes(self) -> None:
        width, height = self.app.size
        for size, steps in (
            (width, self.app.HORIZONTAL_BREAKPOINTS),
            (height, self.app.VERTICAL_BREAKPOINTS),
        ):
            fitting = [name for least, name in steps or [] if least <= size]
            self.add_class(*fitting[-1:], update=False)
        if height < LOW:
            self.add_class("-low", update=False)

    def body(self) -> ComposeResult:
        """Widgets between the head line and the key line."""
        yield from ()

    def fill(self) -> None:
        """Show what the session says."""

    def head(self, left: str | None = None, right: str | None = None) -> None:
        """Write on the head line."""
        line = self.query_one(HeadLine)
        if left is not None:
            line.left = left
        if right is not None:
            line.right = right

    def trying(self) -> Trying:
        """Say an error the player may see in one line: ``with self.trying():``."""
        return Trying(self.tune_app)

    def hushed(self) -> frozenset[str]:
        """Actions that the key line leaves out just now, although they work."""
        return frozenset()

    def word_of(self, act: Act) -> str:
        """Return what the key line calls an action just now; keys of one word stand together."""
        return act.group or act.short

    def refill(self) -> None:
        """Fill the screen if the session is ready; called by the app, and after a change."""
        session = self.tune_app.session
        if session is None or not self._composed:
            return
        with self.trying():
            if session.changed_elsewhere():
                session.reload()
            self.fill()

    def ask_for(self, uuid: str) -> None:
        """Ask for one tune, in a loose round of its own.

        Only from screens that do not show its starts: a check is worth something only when cold.
        """
        from tunememory.rounds.planning import plan_tune  # noqa: PLC0415 - not needed to paint

        with self.trying():
            self.begin_round(plan_tune(self.session, uuid))

    def begin_round(self, planned: Planned, left: Callable[[object], None] | None = None) -> None:
        """Begin a planned round on its screen; ``left`` is called once that is left.

        Raises:
            NotDoneError: The file cannot be written.
        """
        from tunememory.rounds.running import RoundRun  # noqa: PLC0415 - not needed to paint

        self.tune_app.open_screen("round", left, run=RoundRun.begin(self.session, planned))

    def on_mount(self) -> None:
        """Fill before the first paint when the session is already open."""
        self._composed = True
        self.refill()

    @on(Resize)
    def mark_low(self, event: Resize) -> None:
        """Mark a very low window; plead for more room in one that is of no use."""
        width, height = event.size
        self.set_class(height < LOW, "-low")
        if (width < LEAST_WIDTH or height < LEAST_HEIGHT) and not self.query(TooSmall):
            self.mount(TooSmall())

    def on_screen_suspend(self) -> None:
        """Remember that another screen covers this one."""
        self._covered = True

    def on_screen_resume(self) -> None:
        """Show what changed while the screen was covered."""
        if self._covered:
            self._covered = False
            self.refill()


class HearingScreen(SessionScreen[ResultT]):
    """A session screen with a player, which is made when something is first to be heard."""

    class SoundOver(Message):
        """A sound is over by itself.

        Attributes:
            sound: Which one.
            why: Why nothing was heard; empty when all went well.
        """

        def __init__(self, sound: Sound, why: str) -> None:
            super().__init__()
            self.sound = sound
            self.why = why

    _player: Player | None = None
    _heard: Sound | None = None

    @property
    def sounds(self) -> bool:
        """Whether something is to be heard just now."""
        return self._player is not None and self._player.playing

    def hear(self, sound: Sound) -> None:
        """Let a sound be heard in place of any other; returns at once."""
        if self._player is None:
            from tunememory.music.sound.player import Player  # noqa: PLC0415 - only to be heard

            self._player = Player()
        with self.trying():
            caution = sound_caution(self.session)
            if caution:
                self.tell_of_sound(caution)
        self._heard = sound

        def over(why: str) -> None:
            # On another thread, and the app may have ended meanwhile.
            with suppress(RuntimeError):
                self.post_message(self.SoundOver(sound, why))

        self._player.start(sound.wav, over)

    def hush(self) -> None:
        """Stop what is heard."""
        self._heard = None
        if self._player is not None:
            self._player.stop()

    def tell_of_sound(self, text: str) -> None:
        """Say one line about sound."""
        say(self.tune_app, text)

    def sound_failed(self, why: str) -> None:
        """Say why nothing was heard."""
        self.tell_of_sound(why)

    def on_hearing_screen_sound_over(self, message: SoundOver) -> None:
        """Say why nothing was heard, unless it is no longer waited for."""
        message.stop()
        if message.sound is self._heard:
            self._heard = None
            if message.why:
                self.sound_failed(message.why)

    def on_screen_suspend(self) -> None:
        """Be silent under another screen."""
        self.hush()

    def on_unmount(self) -> None:
        """Be silent once left."""
        self.hush()
