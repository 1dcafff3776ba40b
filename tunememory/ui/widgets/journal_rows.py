"""The lines of a day, or of all days that were found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.drawing_journal import JournalRow
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.text import Span


class JournalRows(RowList[JournalRow]):
    """One line a row."""

    def spans(self, row: JournalRow, width: int) -> Sequence[Span]:
        """Give the line."""
        return row.spans
