"""The journal: a calendar of days, what each day holds, what was heard."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import Binding
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from tunememory.practice.heard import (
    NO_NAME,
    all_heard,
    heard_facts,
    join_heard,
    remove_heard,
    want_heard,
)
from tunememory.practice.journal import (
    WHOLE_DAYS,
    calendar_days,
    export_journal,
    is_empty,
    journal_days,
    journal_of,
    search_journal,
)
from tunememory.ui.actions import bind
from tunememory.ui.journal.drawing import (
    LEGEND,
    JournalRow,
    calendar_lines,
    day_rows,
    shown_days,
    tune_rows,
)
from tunememory.ui.journal.heard import HeardForm
from tunememory.ui.questions import AskLine, PickScreen
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import inked, plain, say, wrapped
from tunememory.ui.widgets.fields import expanded
from tunememory.ui.widgets.lists import RowList
from tunememory.words import ago, counted, weekday_words

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content

    from tunememory.practice.heard import HeardTune
    from tunememory.practice.journal import CalendarDay


NOTHING = "Nothing is written on this day."
NOTHING_AT_ALL = (
    "Nothing is written yet. Rounds, practice and the line to the next time come here by "
    "themselves; press h for a tune heard tonight."
)

LOOKED_BACK = 60
"""Days before the one looked at in which a tune heard without a name is looked for."""


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


class JournalScreen(SessionScreen[None]):
    """Days, and the lines of one."""

    HEAD = "Journal"
    CSS = """
    JournalScreen Calendar { padding: 0 2; }
    JournalScreen #legend { height: 1; padding: 0 2 0 7; color: $quiet; }
    JournalScreen RowList { padding-top: 1; }
    JournalScreen.-short #legend { display: none; }
    JournalScreen.-found Calendar, JournalScreen.-found #legend { display: none; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "further", "into the day", "Go into the lines of the day; there, open one"),
        bind("h", "app.open('heard')", "heard", "Write down tunes heard tonight"),
        bind("g", "join", "name it", "Say which tune of yours it was that was heard last"),
        bind("e", "edit", "change", "Change the line of what was heard"),
        bind("w", "want", "want it", "Add what was heard as a wanted tune", shown=False),
        bind("x", "remove", "remove", "Take the line of what was heard out", shown=False),
        bind("slash", "look", "look", "Look for words in all days", key="/"),
        bind("t", "tune", "by tune", "Show what was done on one tune"),
        bind("o", "export", "export", "Write the journal to a .md or .csv file", shown=False),
        bind("escape,q", "back", "back", "Go back", key="esc"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self._found: tuple[str, str] | None = None
        """What is looked at instead of a day: ``("words", text)`` or ``("tune", identity)``."""

    def body(self) -> ComposeResult:
        """The calendar over the day."""
        yield Calendar()
        yield Static(plain(LEGEND), id="legend")
        yield RowList(lambda row, _width: row.spans)

    # What is shown.

    @property
    def _calendar(self) -> Calendar:
        return self.query_one(Calendar)

    @property
    def _lines(self) -> RowList[JournalRow]:
        return self.query_one(RowList)

    def fill(self) -> None:
        """Show the calendar and the day, the cursor where it was."""
        today = self.session.day()
        self._calendar.show(
            partial(calendar_days, self.session), today, self._calendar.cursor or today
        )
        self._show()
        if self.focused is None:
            self._calendar.focus()

    def on_resize(self) -> None:
        """Break the lines anew once the list has its new size."""
        self.call_after_refresh(self.refill)

    @on(Calendar.Moved)
    def _show(self) -> None:
        with self.trying():
            self.set_class(self._found is not None, "-found")
            width = max(20, self.size.width - 4)
            rows = self._found_rows(width) if self._found else self._day_rows(width)
            self._lines.show(tuple(rows), self._lines.cursor if self._inside else 0)
        self.refresh_bindings()

    @property
    def _inside(self) -> bool:
        return self.focused is self._lines

    def _day_rows(self, width: int) -> list[JournalRow]:
        day = self._calendar.cursor or self.session.day()
        self.head(right=ago(day, self.session.day()) if day <= self.session.day() else "ahead")
        found = journal_days(self.session, day, day)
        if found:
            return day_rows(found[0], width)
        (about,) = calendar_days(self.session, day, day)
        takes_place = [*about.dates, *(["a day off"] if about.off else [])]
        head = [(weekday_words(day), "strong"), ("  " + " · ".join(takes_place), "accent")]
        if takes_place:
            return [JournalRow(head)]
        text = NOTHING_AT_ALL if is_empty(self.session) else NOTHING
        return [JournalRow(head), *_text_rows(text, width)]

    def _found_rows(self, width: int) -> list[JournalRow]:
        kind, what = self._found or ("", "")
        if kind == "tune":
            entries = journal_of(self.session, what)
            title = self.session.tune(what).title
            self.head(right=f"{title}: {counted(len(entries), 'entry', 'entries')}")
            today = self.session.day()
            rows = [row for entry in entries for row in tune_rows(entry, today, width)]
            return rows or _text_rows(f"Nothing is written about {title} yet.", width)
        days = search_journal(self.session, what)
        self.head(right=f"“{what}”: {counted(len(days), 'day')}")
        rows = [row for day in days for row in (*day_rows(day, width), JournalRow([]))]
        return rows or _text_rows(f"“{what}” stands nowhere in the journal.", width)

    @property
    def _heard(self) -> HeardTune | None:
        row = self._lines.current if self._inside else None
        return row.heard if row else None

    @property
    def _to_join(self) -> HeardTune | None:
        """The line one is on; from the calendar the last one that has no name."""
        if self._inside:
            return self._heard
        day = self._calendar.cursor or self.session.day()
        heard = all_heard(self.session, day - timedelta(days=LOOKED_BACK), day)
        return next((one for one in heard if not one.tune and not one.name), None)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done with the line one is on."""
        if action == "join":
            return self._composed and self._to_join is not None
        if action in {"edit", "remove"}:
            return self._heard is not None
        if action == "want":
            return self._heard is not None and not self._heard.tune
        return super().check_action(action, parameters)

    @on(RowList.Highlighted)
    def _moved(self) -> None:
        self.refresh_bindings()

    # Keys.

    @on(RowList.Chosen)
    def action_further(self) -> None:
        """Go into the day; on a line, to its tune, or say which tune it was."""
        if not self._inside:
            self._lines.focus()
            self.call_after_refresh(self.refresh_bindings)
            return
        row = self._lines.current
        if row is not None and row.tune:
            self.tune_app.open_tune(row.tune)
        elif row is not None and row.heard is not None:
            self.action_join()

    def action_edit(self) -> None:
        """Change what was heard."""
        if self._heard is not None:
            self.app.push_screen(HeardForm(self._heard))

    def action_join(self) -> None:
        """Pick the tune it was."""
        heard = self._to_join
        if heard is not None:
            about = ", ".join((heard.name or NO_NAME.capitalize(), *heard_facts(heard)))
            question = f"{about}: which tune was it?"
            self.app.push_screen(PickScreen(question), partial(self._joined, heard.uuid))

    def _joined(self, uuid: str, picked: tuple[str, ...] | None) -> None:
        if picked:
            with self.trying():
                joined = join_heard(self.session, uuid, picked[0])
                say(self.tune_app, f"It was {joined.title}.")
                self.refill()

    def action_want(self) -> None:
        """Add it as a wanted tune."""
        if self._heard is not None:
            with self.trying():
                tune = want_heard(self.session, self._heard.uuid)
                say(self.tune_app, f"{tune.title} is wanted now.")
                self.refill()

    def action_remove(self) -> None:
        """Take the line out."""
        if self._heard is not None:
            with self.trying():
                remove_heard(self.session, self._heard.uuid)
                self.refill()

    def action_look(self) -> None:
        """Ask what to look for."""
        ask = AskLine("Look in the journal for", self._look, words=("look", "leave it"))
        self.app.push_screen(ask)

    def _look(self, words: str) -> None:
        self._found = ("words", words.strip()) if words.strip() else None
        self._lines.focus()
        self._show()

    def action_tune(self) -> None:
        """Pick a tune and show what was done on it."""
        self.app.push_screen(PickScreen("By tune"), self._by_tune)

    def _by_tune(self, picked: tuple[str, ...] | None) -> None:
        if picked:
            self._found = ("tune", picked[0])
            self._lines.focus()
            self._show()

    def action_export(self) -> None:
        """Ask for a path and write the journal there."""
        ask = AskLine("Write the journal to", self._export, "journal.md", "a .md or .csv file")
        self.app.push_screen(ask)

    def _export(self, typed: str) -> None:
        today = self.session.day()
        path = expanded(typed.strip())
        export_journal(self.session, path, today - timedelta(days=WHOLE_DAYS), today)
        say(self.tune_app, f"Written to {path}.")

    def action_back(self) -> None:
        """From what was found to the calendar, from the day to the calendar, then away."""
        if self._found is None and not self._inside:
            self.dismiss(None)
            return
        self._found = None
        self._calendar.focus()
        self.call_after_refresh(self._show)


def _text_rows(text: str, width: int) -> list[JournalRow]:
    return [JournalRow(line) for line in wrapped(text, width, "quiet")]
