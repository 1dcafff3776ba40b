"""The journal: a calendar of days, what each day holds, what was heard."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, ClassVar, NamedTuple

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
    day_facts,
    entry_facts,
    export_journal,
    is_empty,
    journal_days,
    journal_of,
    search_journal,
)
from tunememory.ui.actions import bind
from tunememory.ui.practice.heard import HeardForm
from tunememory.ui.questions import AskLine, PickScreen
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import hanging, inked, plain, say, wrapped
from tunememory.ui.widgets import RowList, expanded
from tunememory.words import DAY_NAMES, MONTH_NAMES, ago, counted, weekday_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content

    from tunememory.practice.heard import HeardTune
    from tunememory.practice.journal import CalendarDay, JournalDay, JournalEntry
    from tunememory.ui.text import Span


NOTHING = "Nothing is written on this day."
NOTHING_AT_ALL = (
    "Nothing is written yet. Rounds, practice and the line to the next time come here by "
    "themselves; press h for a tune heard tonight."
)

LOOKED_BACK = 60
"""Days before the one looked at in which a tune heard without a name is looked for."""

LABEL = 5
"""Cells of the names of the days of the week."""

MOST_WEEKS = 40
WEEKS_AHEAD = 4
"""Weeks after this one that the calendar shows."""


class JournalRow(NamedTuple):
    """A line of a day.

    Attributes:
        spans: What is written.
        tune: The tune it is about, or empty.
        heard: What was heard, where it is about that.
    """

    spans: list[Span]
    tune: str = ""
    heard: HeardTune | None = None


def shown_days(today: date, around: date, width: int) -> tuple[date, date]:
    """Return first and last day of a calendar of ``width`` cells that holds both days.

    Args:
        today: The present practice day.
        around: The day the cursor is on.
        width: Cells across.
    """
    weeks = max(2, min(MOST_WEEKS, (width - LABEL) // 2))
    last = today - timedelta(days=today.weekday()) + timedelta(weeks=WEEKS_AHEAD, days=6)
    first = last - timedelta(weeks=weeks) + timedelta(days=1)
    if around < first:
        back = -(-(first - around).days // 7)
        first, last = first - timedelta(weeks=back), last - timedelta(weeks=back)
    elif around > last:
        on = -(-(around - last).days // 7)
        first, last = first + timedelta(weeks=on), last + timedelta(weeks=on)
    return first, last


def calendar_lines(days: Sequence[CalendarDay], today: date, cursor: date) -> list[list[Span]]:
    """Draw days as seven rows, one column a week, the names of the months above.

    Args:
        days: Whole weeks, Monday first, ascending.
        today: The present practice day.
        cursor: The day looked at.
    """
    weeks = [days[first : first + 7] for first in range(0, len(days), 7)]
    lines: list[list[Span]] = [[(" " * LABEL, ""), (_months(weeks), "quiet")]]
    for weekday, name in enumerate(DAY_NAMES):
        row: list[Span] = [(f"{name[:3]:<{LABEL - 1}}", "quiet")]
        for week in weeks:
            day = week[weekday]
            sign, role = _sign(day, today)
            here = day.day == cursor
            row += [("▸" if here else " ", "bright"), (sign, "bright" if here else role)]
        lines.append(row)
    return lines


LEGEND = "● practised  ○ asked  ◆ ◇ a date  – day off"


def _sign(day: CalendarDay, today: date) -> Span:
    """A sign for what a day holds: each is told apart without colour."""
    done = day.minutes > 0 or day.asked > 0
    if day.dates:
        return ("◆" if done else "◇", "accent")
    if day.minutes > 0:
        return ("●", "")
    if day.asked:
        return ("○", "")
    if day.off:
        return ("–", "quiet")
    return ("·" if day.day <= today else " ", "staff")


def _months(weeks: Sequence[Sequence[CalendarDay]]) -> str:
    line = [" "] * (2 * len(weeks) + 3)
    free = 0
    for place, week in enumerate(weeks):
        first = next((day.day for day in week if day.day.day == 1), None)
        if first is not None and 2 * place >= free:
            name = MONTH_NAMES[first.month - 1][:3]
            line[2 * place : 2 * place + len(name)] = name
            free = 2 * place + len(name) + 1
    return "".join(line[: 2 * len(weeks)]).rstrip()


def day_rows(day: JournalDay, width: int) -> list[JournalRow]:
    """Write everything of a day.

    Args:
        day: The day.
        width: Cells across.
    """
    head = hanging(
        f"{weekday_words(day.day)}  ", " · ".join(day_facts(day)), width, "quiet", "strong"
    )
    rows = [JournalRow(line) for line in head]
    if day.would_not_come:
        rows += _rows("would not come: ", ", ".join(day.would_not_come), width)
    for entry in day.entries:
        said = " · ".join((entry.title or "practice", *entry_facts(entry)))
        rows += _rows("● ", said, width, tune=entry.tune)
    for heard in day.heard:
        said = "heard: " + ", ".join((heard.name or NO_NAME, *heard_facts(heard)))
        rows += _rows("♪ ", said, width, tune=heard.tune, heard=heard)
    if day.pick_up:
        rows += _rows("→ ", f"pick up here: {day.pick_up}", width, "accent")
    return rows


def tune_rows(entry: JournalEntry, today: date, width: int) -> list[JournalRow]:
    """Write when something was done on a tune, and what.

    Args:
        entry: What was done.
        today: The present practice day.
        width: Cells across.
    """
    what = " · ".join(entry_facts(entry)) or "practice"
    return _rows(f"{ago(entry.day, today):<14}", what, width, tune=entry.tune)


def _rows(
    sign: str, text: str, width: int, role: str = "", tune: str = "", heard: HeardTune | None = None
) -> list[JournalRow]:
    """Write a text after a sign."""
    return [JournalRow(line, tune, heard) for line in hanging(sign, text, width, role)]


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
