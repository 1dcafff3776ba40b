"""A line to type in, over a list that follows it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input

from tunememory.ui.actions import bind

if TYPE_CHECKING:
    from textual import events


class LineInput(Input):
    """Typing, with the keys that move about the list beneath.

    Every key becomes a message of this widget, after the ``Changed`` of the letters before it:
    letters and Enter sent in one go (a paste, a slow line) are obeyed in the order they came.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "open", "Open what the cursor is on"),
        Binding("up", "step(-1)", show=False),
        Binding("down", "step(1)", show=False),
        Binding("pageup", "leaf(-1)", show=False),
        Binding("pagedown", "leaf(1)", show=False),
    ]

    class Moved(Message):
        """The cursor of the list is to move by rows or by pages."""

        def __init__(self, rows: int = 0, pages: int = 0) -> None:
            super().__init__()
            self.rows = rows
            self.pages = pages

    def __init__(self, placeholder: str = "") -> None:
        super().__init__(placeholder=placeholder, compact=True, select_on_focus=False)

    def take(self, event: events.Key) -> None:
        """Type a letter that was sent before this line had the focus."""
        if event.is_printable and event.character is not None:
            self.insert_text_at_cursor(event.character)
            event.stop()
            event.prevent_default()

    def action_step(self, rows: int) -> None:
        """Move by rows."""
        self.post_message(self.Moved(rows=rows))

    def action_leaf(self, pages: int) -> None:
        """Move by pages."""
        self.post_message(self.Moved(pages=pages))
