"""Many lines of ready text to scroll through."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.text import Span
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence


class LineList(RowList[list[Span]]):
    """Lines as they are; the cursor only shows how far one has read."""

    def spans(self, row: list[Span], width: int) -> Sequence[Span]:
        """Give the line."""
        return row
