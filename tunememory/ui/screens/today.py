"""Today: what waits, the sitting, what fades, and the whole repertoire at a look."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen

if TYPE_CHECKING:
    from textual.binding import BindingType


class TodayScreen(DeskScreen[None]):
    """The first screen."""

    HEAD = "Today"
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("m", "app.open('tunes')", "my tunes", "Go to My tunes"),
        bind("f", "app.open('fading')", "fading", "Go to what is fading"),
        bind("slash", "app.open('find')", "find", "Find a tune by name or by notes"),
        bind("n", "app.open('edit')", "new tune", "Add a tune"),
        bind("i", "app.open('import')", "import", "Bring in a tune book", shown=False),
        bind("comma", "app.open('settings')", "settings", "Go to Settings", shown=False),
        bind("q", "app.quit", "quit", "Leave; everything is kept"),
    ]
