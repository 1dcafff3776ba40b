"""One of a few words, changed in place with left and right."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

if TYPE_CHECKING:
    from textual import events


class Choice(Widget, can_focus=True):
    """Shows all the words on one line, the chosen one marked by a note head.

    Where they have no room beside one another, only the chosen one is shown and its place.
    """

    DEFAULT_CSS = """
    Choice {
        height: 1;
        width: 1fr;
        color: $quiet;
    }
    Choice:focus { background: $raised; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "turn(-1)", "Word before", show=False),
        Binding("right,space", "turn(1)", "Next word", show=False),
    ]

    place: reactive[int] = reactive(0, init=False)

    class Changed(Message):
        """Another word was chosen."""

        def __init__(self, choice: Choice) -> None:
            super().__init__()
            self.choice = choice

        @property
        def control(self) -> Choice:
            """The choice, for ``@on`` selectors."""
            return self.choice

    def __init__(self, words: tuple[str, ...], chosen: str, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.words = words
        self.set_reactive(Choice.place, words.index(chosen))

    @property
    def value(self) -> str:
        """The chosen word."""
        return self.words[self.place]

    def watch_place(self) -> None:
        """Tell the screen."""
        self.post_message(self.Changed(self))

    def render(self) -> Content:
        """Write the words."""
        if not self._fits:
            which = f" ›  {self.place + 1} of {len(self.words)}"
            return Content.assemble("‹ ", (self.value, "bold $foreground"), which)
        pieces: list[Content] = []
        for place, word in enumerate(self.words):
            here = place == self.place
            style = "bold $foreground" if here else ""
            pieces.append(Content.styled(("● " if here else "○ ") + word, style))
        return Content("  ").join(pieces)

    @property
    def _fits(self) -> bool:
        taken = sum(len(word) + 4 for word in self.words) - 2
        return taken <= self.size.width

    def action_turn(self, words: int) -> None:
        """Choose the next word (1) or the one before (-1), round and round."""
        self.place = (self.place + words) % len(self.words)

    def on_click(self, event: events.Click) -> None:
        """Choose the word clicked."""
        self.focus()
        if not self._fits:
            self.action_turn(-1 if event.x < 2 else 1)
            return
        left = 0
        for place, word in enumerate(self.words):
            right = left + len(word) + 4
            if left <= event.x < right:
                self.place = place
                return
            left = right
