"""One line of a form: its name, what is typed, and what there is to say about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from tunememory.ui.actions import bind
from tunememory.ui.text import plain

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.widget import Widget


TABS = (
    bind("tab", "app.focus_next", "", "Go to the next line", shown=False, priority=True),
    bind(
        "shift+tab", "app.focus_previous", "", "Go to the line before", shown=False, priority=True
    ),
)
"""From field to field, before any later key is given to a field: what is typed right after Tab
belongs to the next one."""


class Field(Vertical):
    """A named control.

    Args:
        name: What stands before it.
        control: The widget that is typed into.
    """

    DEFAULT_CSS = """
    Field { height: auto; }
    Field > Horizontal { height: auto; }
    Field .name { width: 16; height: 1; color: $quiet; }
    Field.-here .name { color: $accent; text-style: bold; }
    Field Input { background: $background; width: 1fr; }
    Field Input:focus { background: $raised; }
    Field .said { display: none; height: auto; margin-left: 16; color: $quiet; }
    Field .said.-wrong { color: $lost; }
    """

    def __init__(self, name: str, control: Widget, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._label = name
        self.control = control
        # Made here, so that a field can be spoken to before it is on the screen.
        self._said = Static(classes="said")
        self._named = Static(plain(f"  {name}"), classes="name")

    def compose(self) -> ComposeResult:
        """Name and control on one line, what is said under them."""
        with Horizontal():
            yield self._named
            yield self.control
        yield self._said

    def on_descendant_focus(self) -> None:
        """Mark the name of the field one is in."""
        self.add_class("-here")
        self._named.update(plain(f"▸ {self._label}"))

    def on_descendant_blur(self) -> None:
        """Take the mark away."""
        self.remove_class("-here")
        self._named.update(plain(f"  {self._label}"))

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Say one line under the control; an empty text takes it away."""
        self._said.set_class(wrong, "-wrong")
        self._said.update(plain(text))
        self._said.display = bool(text)
