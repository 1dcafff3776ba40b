"""A path being typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.message import Message

from tunememory.ui.actions import bind
from tunememory.ui.widgets.line_input import LineInput

if TYPE_CHECKING:
    from textual.binding import BindingType


class PathInput(LineInput):
    """A line whose Tab completes what is typed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "choose", "Go into this folder or bring in this file"),
        bind("tab", "complete", "complete", "Complete the path where it is clear"),
    ]

    class Completed(Message):
        """The player wants the path completed."""

    def action_complete(self) -> None:
        """Ask for the path to be completed."""
        self.post_message(self.Completed())
