"""A page of rows drawn at once; only the rows that changed are painted again."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tunememory.ui.text import bare

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.text import Span


class Sheet(Widget):
    """Rows of ``(text, role)`` spans.

    Drawn line by line, without a layout of its own, so that the time from a key to the picture is
    that of the few lines a key changes.
    """

    DEFAULT_CSS = "Sheet { height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: Sequence[Sequence[Span]] = ()
        self._plain = Style()

    def show(self, rows: Sequence[Sequence[Span]]) -> None:
        """Replace the rows; those that stay as they are are not painted again."""
        before, self._rows = self._rows, rows
        width = self.size.width
        changed = [
            Region(0, y, width, 1)
            for y in range(min(self.size.height, max(len(before), len(rows))))
            if (before[y] if y < len(before) else ()) != (rows[y] if y < len(rows) else ())
        ]
        if changed:
            self.refresh(*changed)

    def render_lines(self, crop: Region) -> list[Strip]:
        """Lay out the rows that are asked for."""
        self._plain = self.rich_style
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """Lay out one row."""
        width = self.size.width
        plain = self._plain
        row = self._rows[y] if y < len(self._rows) else ()
        segments = [Segment(bare(text), self._style(plain, role)) for text, role in row if text]
        return Strip(segments).adjust_cell_length(width, plain)

    def _style(self, plain: Style, role: str) -> Style:
        """Return the ink of a role: a colour of the theme, bold, or both.

        Worked out here and not by style rules, which every sheet would have to match anew.
        """
        if not role:
            return plain
        bold = role in {"strong", "bright"}
        colour = {"bright": "accent", "new": "quiet"}.get(role, role)
        if colour == "strong":
            return plain + Style(bold=True)
        return plain + _ink(self.app.theme_variables[colour], bold=bold)


@lru_cache(maxsize=64)
def _ink(colour: str, *, bold: bool) -> Style:
    return Style(color=Color.parse(colour).rich_color, bold=bold or None)
