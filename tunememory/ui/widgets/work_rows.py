"""The work-list, and the ways of the tune at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.service.day_views import WayView
from tunememory.ui.drawing_practice import way_spans, work_spans
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.planning.work_list import Group, Item, WorkList
    from tunememory.ui.text import Span


class Work(NamedTuple):
    """A tune of the work-list in its group."""

    group: Group
    item: Item
    first: bool


def work_rows(work: WorkList) -> tuple[Work, ...]:
    """Return the work-list one tune a row."""
    return tuple(
        Work(group, item, place == 0)
        for group in work.groups
        for place, item in enumerate(group.items)
    )


class WorkRows(RowList[Work]):
    """Tunes to work on, grouped by root."""

    def spans(self, row: Work, width: int) -> Sequence[Span]:
        """Write one tune."""
        return work_spans(row.group, row.item, width, first=row.first)


class WayRows(RowList[WayView]):
    """Ways of working on one tune."""

    today: date
    """The present practice day; set before rows are shown."""

    def spans(self, row: WayView, width: int) -> Sequence[Span]:
        """Write one way."""
        return way_spans(row, self.today, width)
