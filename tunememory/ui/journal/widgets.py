"""The calendar of the journal: a cursor that moves by days and weeks."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding
from textual.message import Message
from textual.widget import Widget

from tunememory.ui.journal.drawing import calendar_lines, shown_days
from tunememory.ui.text import inked

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from textual.binding import BindingType
    from textual.content import Content

    from tunememory.practice.journal import CalendarDay


class Calendar(Widget, can_focus=True):
    """Days as seven rows, one column a week. Empty until ``show`` is called."""

    DEFAULT_CSS = "Calendar { height: 8; text-wrap: nowrap; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,k", "move(-1)", show=False),
        Binding("down,j", "move(1)", show=False),
        Binding("left", "move(-7)", show=False),
        Binding("right", "move(7)", show=False),
    ]

    class Moved(Message):
        """The cursor came to another day."""

    def __init__(self) -> None:
        super().__init__()
        self.cursor: date | None = None
        self._today: date | None = None
        self._read: Callable[[date, date], tuple[CalendarDay, ...]] | None = None
        self._days: tuple[CalendarDay, ...] = ()

    def show(
        self, read: Callable[[date, date], tuple[CalendarDay, ...]], today: date, cursor: date
    ) -> None:
        """Show the days around ``cursor``; ``read`` gives the days from one to another."""
        self._read, self._today, self.cursor = read, today, cursor
        self._days = ()
        self.refresh()

    def action_move(self, days: int) -> None:
        """Move by days."""
        if self.cursor is None or self._today is None:
            return
        self.cursor += timedelta(days=days)
        self.refresh()
        self.post_message(self.Moved())

    def render(self) -> Content:
        """Draw the weeks that fit."""
        if self.cursor is None or self._today is None or self._read is None:
            return inked([])
        first, last = shown_days(self._today, self.cursor, self.size.width)
        if not self._days or (self._days[0].day, self._days[-1].day) != (first, last):
            self._days = self._read(first, last)
        return inked(calendar_lines(self._days, self._today, self.cursor))
