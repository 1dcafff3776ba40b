"""Help: the keys of the screen below from the bindings themselves, and what the words mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.containers import VerticalScroll

from tunememory.ui.actions import app_keys, bind, keys_of
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_help import help_lines
from tunememory.ui.widgets.lines import Lines

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.screen import Screen

    from tunememory.ui.text import Span


class HelpScreen(DeskScreen[None]):
    """What can be done on one screen.

    Args:
        about: The screen it was asked for on.
    """

    HEAD = "Help"
    OPENS_AREAS = False
    DEFAULT_CSS = """
    HelpScreen #page { margin: 1 1 0 2; height: 1fr; scrollbar-size-vertical: 1; }
    HelpScreen Lines { max-width: 96; margin-right: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape,q,enter", "close", "back", "Go back", key="esc"),
        bind("down", "roll(1)", "further down", "Further down", key="↓"),
        bind("up", "roll(-1)", "up", "Back up", key="↑"),
        bind("pagedown,space", "page(1)", "", "A page down", shown=False),
        bind("pageup", "page(-1)", "", "A page up", shown=False),
    ]

    def __init__(self, about: Screen[object]) -> None:
        super().__init__()
        self.about = about

    def body(self) -> ComposeResult:
        """One page that scrolls."""
        with VerticalScroll(id="page", can_focus=False):
            yield Lines(self._draw)

    def _draw(self, width: int) -> list[list[Span]]:
        about = self.about
        name = about.HEAD if isinstance(about, DeskScreen) else ""
        self.head(left=f"Help · {name}" if name else "Help")
        return help_lines(keys_of(about), app_keys(self.app), str(self.desk.path), width)

    def action_close(self) -> None:
        """Go back."""
        self.dismiss(None)

    def action_roll(self, lines: int) -> None:
        """Move by lines."""
        self.query_one("#page", VerticalScroll).scroll_relative(y=lines, animate=False)

    def action_page(self, pages: int) -> None:
        """Move by pages."""
        page = self.query_one("#page", VerticalScroll)
        page.scroll_relative(y=pages * max(1, page.size.height - 1), animate=False)
