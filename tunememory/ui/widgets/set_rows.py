"""Sets, the tunes and joins of one, and tunes to start."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.date_views import SetView
from tunememory.ui.drawing_sets import SetRow, set_row_spans, set_spans
from tunememory.ui.drawing_tonight import TonightRow, tonight_spans
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.ui.text import Span


class SetList(RowList[SetView]):
    """Sets, one a line."""

    def spans(self, row: SetView, width: int) -> Sequence[Span]:
        """Write one."""
        return set_spans(row, width)


class SetRows(RowList[SetRow]):
    """Tunes and joins of a set."""

    today: date
    """The present practice day; set before rows are shown."""

    def spans(self, row: SetRow, width: int) -> Sequence[Span]:
        """Write one."""
        return set_row_spans(row, self.today, width)


class TonightRows(RowList[TonightRow]):
    """Tunes to start."""

    def spans(self, row: TonightRow, width: int) -> Sequence[Span]:
        """Write one."""
        return tonight_spans(row, width)
