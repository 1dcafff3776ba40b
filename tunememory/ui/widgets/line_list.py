"""Many lines of ready text to scroll through."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.text import Span
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual import events


class LineList(RowList[list[Span]]):
    """Lines as they are. The cursor is the first line in sight, so that every move scrolls."""

    def spans(self, row: list[Span], width: int) -> Sequence[Span]:
        """Give the line."""
        return row

    def is_marked(self, index: int) -> bool:
        """No line is more than another."""
        return False

    def on_click(self, event: events.Click) -> None:
        """A line is not for choosing."""
        event.prevent_default()

    def _within(self, index: int) -> int:
        """The last page is as far as it goes."""
        return max(0, min(index, len(self.rows) - max(1, self.size.height)))

    def _keep_cursor_in_sight(self) -> None:
        if self.size.height:
            self.scroll_to(y=self._within(self.cursor), animate=False, force=True, immediate=True)
