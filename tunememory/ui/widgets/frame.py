"""What stands around every screen: the head line, the key line, and the plea for more room."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from tunememory.ui.actions import acts_of
from tunememory.ui.text import cell, joined, plain, width_of

if TYPE_CHECKING:
    from textual.events import Click
    from textual.screen import Screen

LEAST_WIDTH = 40
LEAST_HEIGHT = 12
"""Below this size nothing but a plea for more room is shown."""


class HeadLine(Widget):
    """One line at the top: where we are on the left, the day or the tuning on the right."""

    DEFAULT_CSS = """
    HeadLine { dock: top; height: 1; padding: 0 2; }
    """

    left = reactive("")
    right = reactive("")

    def render(self) -> Content:
        """Both ends of the line, the right one first to give way."""
        width = self.size.width
        right = self.right if width_of(self.left) + width_of(self.right) + 3 <= width else ""
        room = width - width_of(right)
        return joined((cell(self.left, room), "bold"), (right, "$quiet"))


class KeyLine(Widget):
    """One line at the bottom: the keys of this moment, as many as fit, and always ``? help``."""

    DEFAULT_CSS = """
    KeyLine { dock: bottom; height: 1; padding: 0 2; }
    """

    _ALWAYS: ClassVar[tuple[str, str]] = ("?", "help")

    def on_mount(self) -> None:
        """Follow the bindings of the screen."""
        self.screen.bindings_updated_signal.subscribe(self, self._keys_changed)

    def _keys_changed(self, _: Screen[object]) -> None:
        self.refresh()

    def entries(self) -> list[tuple[str, str, str]]:
        """Key, word and action of what fits, left to right."""
        room = self.size.width - width_of(" ".join(self._ALWAYS))
        fitting: list[tuple[str, str, str]] = []
        hushed: frozenset[str] = getattr(self.screen, "hushed", frozenset)()
        offered: list[tuple[str, str, str]] = []
        for act in acts_of(self.screen):
            word = act.group or act.short
            if not word or not act.enabled or act.action in hushed:
                continue
            if act.group and offered and offered[-1][1] == act.group:
                # Keys of a group share one word, and no click can mean one of them.
                offered[-1] = (f"{offered[-1][0]} {act.key}", act.group, "")
            else:
                offered.append((act.key, word, act.action))
        for key, word, action in offered:
            taken = width_of(key) + width_of(word) + 4
            if taken > room:
                break
            room -= taken
            fitting.append((key, word, action))
        fitting.append((*self._ALWAYS, "app.help"))
        return fitting

    def render(self) -> Content:
        """The keys in the accent, the words quiet."""
        shown = [
            joined((key, "bold $accent"), " ", (word, "$quiet")) for key, word, _ in self.entries()
        ]
        return Content("   ").join(shown)

    async def on_click(self, event: Click) -> None:
        """Do what stands under the mouse."""
        start = 0
        for key, word, action in self.entries():
            end = start + width_of(key) + 1 + width_of(word)
            if action and start <= event.x - self.styles.padding.left < end:
                await self.screen.run_action(action)
                return
            start = end + 3


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
