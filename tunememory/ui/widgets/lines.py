"""Lines of text laid out anew for the width they are given, as tall as they come out."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, TypeAlias

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from tunememory.ui.widgets.row_list import ROLES, role_css

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.geometry import Size

    from tunememory.ui.widgets.row_list import Span


Drawing: TypeAlias = "Callable[[int], list[list[Span]]]"
"""Gives lines of spans for a width in cells."""


class Lines(Widget):
    """A picture or a page of text drawn by a pure function of the width."""

    DEFAULT_CSS = "Lines { height: auto; width: 1fr; }" + role_css("Lines")
    COMPONENT_CLASSES: ClassVar[set[str]] = set(ROLES)

    def __init__(
        self,
        draw: Drawing | None = None,
        *,
        id: str | None = None,  # noqa: A002
    ) -> None:
        super().__init__(id=id)
        self._draw = draw or (lambda _width: [])
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

    def render_line(self, y: int) -> Strip:
        """Give one line of the drawing."""
        width = self.size.width
        lines = self._lines(width)
        plain = self.rich_style
        if y >= len(lines):
            return Strip.blank(width, plain)
        segments = [
            Segment(
                text,
                plain + self.get_component_rich_style(f"row--{role}", partial=True)
                if role
                else plain,
            )
            for text, role in lines[y]
        ]
        return Strip(segments).adjust_cell_length(width, plain)
