"""Lines of text laid out anew for the width they are given, as tall as they come out."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeAlias

from textual.widget import Widget

from tunememory.ui.text import Span, inked

if TYPE_CHECKING:
    from textual.content import Content
    from textual.geometry import Size

Drawing: TypeAlias = Callable[[int], list[list[Span]]]
"""Gives lines of spans for a width in cells."""


class Lines(Widget):
    """A picture or a page of text drawn by a pure function of the width."""

    DEFAULT_CSS = "Lines { height: auto; width: 1fr; text-wrap: nowrap; }"

    def __init__(self, draw: Drawing | None = None, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._draw: Drawing = draw or (lambda _width: [])
        self._drawn: tuple[int, list[list[Span]]] | None = None

    def show(self, draw: Drawing) -> None:
        """Show another drawing."""
        self._draw = draw
        self._drawn = None
        self.refresh(layout=True)

    def _lines(self, width: int) -> list[list[Span]]:
        if self._drawn is None or self._drawn[0] != width:
            self._drawn = (width, self._draw(width))
        return self._drawn[1]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many lines as the drawing has at this width."""
        return len(self._lines(width))

    def render(self) -> Content:
        """Give the drawing."""
        return inked(self._lines(self.size.width))
