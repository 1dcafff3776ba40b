"""Dates, the tunes of one, and what was played at one."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.service.date_views import DateTune
from tunememory.ui.drawing_dates import DateRow, date_spans, date_tune_spans
from tunememory.ui.text import cell
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.text import Span


class DateRows(RowList[DateRow]):
    """Dates and days off."""

    def spans(self, row: DateRow, width: int) -> Sequence[Span]:
        """Write one."""
        return date_spans(row, width)


class DateTuneRows(RowList[DateTune]):
    """Tunes wanted at a date."""

    over: bool = False
    """Whether the date is over."""

    def spans(self, row: DateTune, width: int) -> Sequence[Span]:
        """Write one."""
        return date_tune_spans(row, width, over=self.over)


class Played(NamedTuple):
    """A tune, and whether it was played."""

    tune: str
    title: str
    played: bool


class PlayedRows(RowList[Played]):
    """Tunes, a full note before those that were played."""

    def spans(self, row: Played, width: int) -> Sequence[Span]:
        """Write one."""
        mark, role = ("● ", "bright") if row.played else ("○ ", "quiet")
        said = "played there" if row.played else ""
        return [(mark, role), (cell(row.title, max(0, width - 16)), ""), (cell(said, 14), role)]
