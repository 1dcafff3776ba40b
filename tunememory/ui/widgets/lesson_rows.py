"""A pupil's tunes, and who has which."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.service.lessons import LessonRow
from tunememory.ui.drawing_pupils import lesson_spans, table_spans
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.ui.text import Span


class LessonRows(RowList[LessonRow]):
    """Tunes of a pupil."""

    today: date
    """The present practice day; set before rows are shown."""

    def spans(self, row: LessonRow, width: int) -> Sequence[Span]:
        """Write one."""
        return lesson_spans(row, self.today, width)


class WhoHas(NamedTuple):
    """A tune, and how each file stands to it."""

    title: str
    marks: tuple[bool | None, ...]


class TableRows(RowList[WhoHas]):
    """Who has which tune."""

    first: int = 0
    """The file whose sign comes first."""

    def spans(self, row: WhoHas, width: int) -> Sequence[Span]:
        """Write one."""
        return table_spans(row.title, row.marks, width, self.first)
