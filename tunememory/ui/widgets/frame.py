"""What stands around every screen: the head line, the key line, and the plea for more room."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.reactive import reactive
from textual.widget import Widget

from tunememory.ui.actions import acts_of
from tunememory.ui.text import cell, plain, width_of
from tunememory.ui.widgets.sheet import Sheet

if TYPE_CHECKING:
    from textual.content import Content
    from textual.events import Click
    from textual.screen import Screen

    from tunememory.ui.desk_screen import DeskScreen
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

    left = reactive("", repaint=False)
    right = reactive("", repaint=False)

    def watch_left(self) -> None:
        """Write it."""
        self._write()

    def watch_right(self) -> None:
        """Write it."""
        self._write()

    def on_resize(self) -> None:
        """Lay both ends out anew."""
        self._write()

    def _write(self) -> None:
        width = self.size.width - 2 * MARGIN
        right = self.right if width_of(self.left) + width_of(self.right) + 3 <= width else ""
        room = width - width_of(right)
        self.show([[(" " * MARGIN, ""), (cell(self.left, room), "strong"), (right, "quiet")]])


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
        row: list[Span] = []
        for key, word, _ in self.entries():
            row += [(GAP if row else " " * MARGIN, ""), (key, "bright"), (f" {word}", "quiet")]
        self.show([row])

    def entries(self) -> list[tuple[str, str, str]]:
        """Key, word and action of what fits, left to right."""
        taker = self.screen.focused
        typed = taker is not None and taker.check_consume_key("question_mark", "?")
        always = ("f1" if typed else "?", "help", "app.help")
        room = self.size.width - 2 * MARGIN - width_of(" ".join(always[:2]))
        fitting: list[tuple[str, str, str]] = []
        screen = cast("DeskScreen[object]", self.screen)
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
