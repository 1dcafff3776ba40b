"""Pupils, who has which tune, and the card for the case."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.library.adding import set_status
from tunememory.library.exporting import write_file
from tunememory.library.starts import sound_of
from tunememory.music.tune import Status
from tunememory.paper import Paper
from tunememory.practice.sitting import set_pick_up
from tunememory.recall.check import START_WORDS, Level
from tunememory.teaching.card import card_for, card_text, write_card
from tunememory.teaching.pupils import (
    Lesson,
    LessonRow,
    Progress,
    Table,
    file_for,
    files_beside,
    table,
    table_text,
)
from tunememory.text import fold
from tunememory.ui.actions import SET, bind
from tunememory.ui.library.drawing import one_start
from tunememory.ui.questions import AskLine, PickLine, PickRow, PickScreen
from tunememory.ui.screen import HearingScreen, SessionScreen
from tunememory.ui.text import bare, cell, joined, lines, plain, say, wrapped
from tunememory.ui.widgets import LineList, Lines, RowList, expanded
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content

    from tunememory.session import Session
    from tunememory.ui.text import Span


def files_to_pick(session: Session) -> tuple[PickRow, ...]:
    """Every other repertoire file in the folder of the open one."""
    return tuple(
        PickRow(str(path), path.stem, "", fold(path.stem)) for path in files_beside(session.path)
    )


class PupilsScreen(PickScreen):
    """The list of pupils; letters of a name and Enter open one's page."""

    OPENS_AREAS = True
    NOTHING = "No other repertoire file lies beside yours. Press ctrl+n for a new pupil."
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+n", "new", "new pupil", "Make a file for a new pupil, beside your own"),
        bind("ctrl+t", "together", "who has which", "Show who has which tune, and what all can"),
    ]

    def __init__(self) -> None:
        super().__init__("Pupils", read=files_to_pick)

    def chosen(self, uuid: str) -> None:
        """Open the page of a pupil; the line is empty for the next one."""
        self.query_one(PickLine).value = ""
        self.tune_app.open_screen("pupil", path=Path(uuid))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without files there is no table of them."""
        if action == "together":
            return bool(self.all_rows)
        return super().check_action(action, parameters)

    def action_new(self) -> None:
        """Ask for a name and make the file."""
        given = self.query_one(PickLine).value
        self.app.push_screen(AskLine("What is the pupil called?", self._new, given), self._made)

    def _new(self, name: str) -> None:
        file_for(self.session.path, name)

    def _made(self, name: str | None) -> None:
        if name is not None:
            with self.trying():
                path = file_for(self.session.path, name)
                self.query_one(PickLine).value = ""
                self.tune_app.open_screen("pupil", path=path, create=True)

    def action_together(self) -> None:
        """Show who has which tune."""
        with self.trying():
            self.tune_app.open_screen("together", paths=files_beside(self.session.path))


ROOMY = 68
"""From this many cells on the kind of a tune stands beside its key."""

SIGNS = {True: ("●", "strong"), False: ("○", ""), None: ("·", "staff")}
"""Can start it, has it, has it not."""

LEGEND = "● can start it   ○ has it   · has it not"

_PROGRESS = 11
_WORDS = 18
_MARK = {
    Progress.GIVEN: "bright",
    Progress.MEND: "rusty",
    Progress.NOT_ASKED: "new",
    Progress.LATER: "quiet",
}


def lesson_spans(row: LessonRow, today: date, width: int) -> list[Span]:
    """Write a tune of a pupil: how it stands, what it is, how it came in this lesson.

    A tune that was not asked in it yet says instead when it was given.

    Args:
        row: The tune.
        today: The present practice day.
        width: Cells across.
    """
    facts = 14 if width >= ROOMY else 6
    room = max(8, width - _PROGRESS - facts - _WORDS)
    about = " ".join(filter(None, (row.tune.key_short, row.tune.kind if facts > 6 else "")))
    last: Span = (ago(row.tune.added, today) if row.progress is Progress.GIVEN else "", "quiet")
    if row.marked:
        last = (START_WORDS[row.marked], "strong")
    return [
        (cell(row.progress.value, _PROGRESS), _MARK.get(row.progress, "")),
        (cell(row.tune.title, room), "quiet" if row.progress is Progress.LATER else ""),
        (cell(f" {about}", facts), "quiet"),
        (cell(f" {last[0]}", _WORDS), last[1]),
    ]


def lesson_words(rows: Sequence[LessonRow]) -> str:
    """Say what a pupil's list holds: ``"3 given · 2 to mend"``."""
    held = [(progress, sum(row.progress is progress for row in rows)) for progress in Progress]
    said = [f"{number} {progress.value}" for progress, number in held if number]
    return " · ".join(said[:3]) or counted(0, "tune")


def starts_under(row: LessonRow | None, width: int, most: int) -> list[list[Span]]:
    """Write the starts of the tune under the cursor, at most so many lines."""
    if row is None:
        return []
    lines = [line for start in row.starts for line in one_start(start, width)]
    return lines[:most] or [[("no start written down yet", "quiet")]]


def table_spans(title: str, marks: Sequence[bool | None], width: int, first: int = 0) -> list[Span]:
    """Write who has a tune: a sign for each file.

    Args:
        title: Of the tune.
        marks: For each file whether it can be started, ``None`` where it is not.
        width: Cells across.
        first: The file whose sign comes first, where not all have room.
    """
    shown = marks[first : first + columns_in(width)]
    room = max(8, width - 3 * len(shown))
    return [
        (cell(title, room), ""),
        *((f"  {sign}", role) for sign, role in (SIGNS[mark] for mark in shown)),
    ]


def columns_in(width: int) -> int:
    """Return how many files have room beside a title."""
    return max(1, (width - 24) // 3)


def table_head(table: Table, width: int, first: int = 0) -> list[list[Span]]:
    """Write the numbers of the files, and their names."""
    last = min(len(table.names), first + columns_in(width))
    room = max(8, width - 3 * (last - first))
    # The number stays with its name where the line is broken.
    names = ", ".join(
        f"{n}\N{NO-BREAK SPACE}{bare(table.names[n - 1])}" for n in range(first + 1, last + 1)
    )
    numbers = "".join(f"{n:>3}" for n in range(first + 1, last + 1))
    return [*wrapped(names, width, "quiet"), [(" " * room + numbers, "strong")]]


def table_words(table: Table) -> str:
    """Say how many tunes all can start: ``"3 tunes all can start"``."""
    everyone = sum(all(marks) for _, marks in table.rows)
    return f"{counted(everyone, 'tune')} all can start" if table.names else ""


class WhoHas(NamedTuple):
    """A tune, and how each file stands to it."""

    title: str
    marks: tuple[bool | None, ...]


NO_TUNES = "No tunes yet. Press g to give one of yours."
LEVEL_WORDS = "how it came"


class PupilPage(HearingScreen[None]):
    """The page of one pupil. Every key is kept at once, in the pupil's own file.

    Args:
        path: The pupil's file.
        create: Make the file.
    """

    CSS = """
    PupilPage #line { height: auto; max-height: 4; padding: 1 2 0 2; }
    PupilPage RowList { padding-top: 1; }
    PupilPage.-short RowList { padding: 0; }
    PupilPage.-short #line { padding: 0 2; }
    PupilPage #starts { padding: 1 2 0 2; height: auto; max-height: 9; }
    PupilPage.-short #starts { padding: 0 2; max-height: 5; }
    PupilPage #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("4", "level(4)", "", "It came straight off: would kick it off", group=LEVEL_WORDS),
        bind("3", "level(3)", "", "It came after a moment: would find it", group=LEVEL_WORDS),
        bind("2", "level(2)", "", "It came with a nudge: would join in", group=LEVEL_WORDS),
        bind("1", "level(1)", "", "It did not come: would sit it out", group=LEVEL_WORDS),
        bind("g", "give", "give", "Give the pupil one of your tunes, with its starts"),
        bind("n", "line", "next time", "Write down what to begin with next time"),
        bind("w", "slip", "slip", "Write a slip for the pupil: .html to print, or .txt"),
        bind("h", "has_it", "has it", "The pupil has it now: it is kept, no longer new"),
        bind("p", "hear", "hear", "Hear its starts, or stop"),
        bind("u", "undo", "undo", "Take the last mark back", shown=False),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def __init__(self, path: Path, *, create: bool = False) -> None:
        super().__init__()
        self._path = path
        self._create = create
        self._lesson: Lesson | None = None
        self._marked = False

    def body(self) -> ComposeResult:
        """The line of last time, the tunes, the starts of the one under the cursor."""
        yield Static(id="line")
        yield RowList(self._write)
        yield Static(plain(NO_TUNES), id="none")
        yield Lines(id="starts")

    @property
    def lesson(self) -> Lesson:
        """The pupil's file, opened at its first use.

        Raises:
            NotDoneError: It cannot be used.
        """
        if self._lesson is None:
            self._lesson = Lesson(self._path, self.session.clock, create=self._create)
        return self._lesson

    def fill(self) -> None:
        """Show the tunes of the file, the cursor on the one it was on."""
        try:
            found = self.lesson.rows()
        except NotDoneError as error:
            say(self.tune_app, str(error), "error")
            self.dismiss(None)
            return
        rows = self._rows
        rows.renew(found, lambda row: row.tune.uuid)
        rows.display = bool(found)
        self.query_one("#none").display = not found
        rows.focus()
        self.head(left=self.lesson.name, right=lesson_words(found))
        line = self.query_one("#line", Static)
        said = self._said()
        line.update(said)
        line.display = bool(said.plain)
        self._moved()

    def _said(self) -> Content:
        line, day = self.lesson.line()
        own = self.lesson.next_line()
        said = []
        if line:
            when = f"{ago(day, self.session.day()).capitalize()}: "
            said.append(joined((when, "$quiet"), (line, "bold")))
        if own:
            said.append(joined(("Next time: ", "$quiet"), (own, "bold")))
        return lines(*said)

    def _write(self, row: LessonRow, width: int) -> list[Span]:
        return lesson_spans(row, self.session.day(), width)

    @property
    def _rows(self) -> RowList[LessonRow]:
        return self.query_one(RowList)

    @property
    def _here(self) -> LessonRow | None:
        return self._rows.current

    @on(RowList.Highlighted)
    def _moved(self) -> None:
        here = self._here
        most = 4 if self.has_class("-short") else 8
        self.query_one("#starts", Lines).show(lambda width: starts_under(here, width, most))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done with the tune under the cursor."""
        here = self._here if self._composed else None
        if action in {"level", "has_it", "slip"}:
            return here is not None
        if action == "hear":
            return here is not None and any(start.letters for start in here.starts)
        if action == "undo":
            return self._marked
        return super().check_action(action, parameters)

    # Keys.

    def action_level(self, number: int) -> None:
        """Write down how the tune came, and go on to the next."""
        here = self._here
        if here is not None:
            with self.trying():
                self.lesson.mark(here.tune.uuid, Level(number))
                self._marked = True
                cursor = self._rows.cursor
                self._show_marks()
                self._rows.cursor = cursor + 1

    def _show_marks(self) -> None:
        """Show the marks; tunes stay where they are until the page is opened anew."""
        now = {row.tune.uuid: row for row in self.lesson.rows()}
        rows = [now.get(row.tune.uuid, row) for row in self._rows.rows]
        self._rows.show(tuple(rows), self._rows.cursor)

    def action_undo(self) -> None:
        """Take the last mark back."""
        with self.trying():
            title = self.lesson.undo()
            self._marked = bool(title)
            say(self.tune_app, f"Taken back: {title}." if title else "Nothing to take back.")
            self._show_marks()

    def action_has_it(self) -> None:
        """Say that the pupil has the tune."""
        if self._here is not None:
            with self.trying():
                set_status(self.lesson.session, self._here.tune.uuid, Status.KEPT)
                say(self.tune_app, f"{self._here.tune.title}: had now.")
                self.fill()

    def action_hear(self) -> None:
        """Hear the starts of the tune, or stop."""
        if self.sounds:
            self.hush()
        elif self._here is not None:
            with self.trying():
                self.hear(sound_of(self._here.tune, self.lesson.session.settings))

    def action_give(self) -> None:
        """Pick one of the teacher's tunes."""
        self.app.push_screen(PickScreen("Which tune to give?"), self._give)

    def _give(self, picked: tuple[str, ...] | None) -> None:
        if picked:
            with self.trying():
                given = self.lesson.give(self.session, picked[0])
                said = (
                    f"Given: {given.given[0]}." if given.given else f"Had already: {given.had[0]}."
                )
                say(self.tune_app, said)
                self.fill()

    def action_line(self) -> None:
        """Ask what to begin with next time."""
        keep = partial(set_pick_up, self.lesson.session)
        titles = [row.tune.title for row in self._rows.rows]
        line = self.lesson.next_line()
        ask = AskLine("What shall we begin with next time?", keep, line, "one line", titles=titles)
        self.app.push_screen(ask)

    def action_slip(self) -> None:
        """Ask for a path and write the slip there."""
        given = f"{self.lesson.name}.html"
        ask = AskLine("Write the slip to", self._slip, given, "a .html or .txt file")
        self.app.push_screen(ask)

    def _slip(self, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        self.lesson.write_slip(path)
        say(self.tune_app, f"Written to {path}.")

    def on_unmount(self) -> None:
        """Close the pupil's file."""
        if self._lesson is not None:
            self._lesson.session.close()


BESIDE = 3
"""Cells beside a row: the mark before it and the bar that scrolls. The head leaves them too."""


class TogetherScreen(SessionScreen[None]):
    """A table of tunes and repertoire files; what most can start comes first.

    Args:
        paths: The files.
    """

    HEAD = "Who has which tune"
    CSS = """
    TogetherScreen #heads { padding: 1 1 0 2; }
    TogetherScreen.-short #heads { padding: 0 1 0 2; }
    TogetherScreen #legend { height: 1; padding: 0 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("right", "turn(1)", "others", "See the next files", key="→"),
        bind("left", "turn(-1)", "", "See the files before", shown=False, key="←"),
        bind("w", "write", "write", "Write the table to a text file"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def __init__(self, paths: tuple[Path, ...]) -> None:
        super().__init__()
        self._paths = paths
        self._table: Table | None = None
        self._first = 0  # the file whose sign comes first

    def body(self) -> ComposeResult:
        """The names, the table, what its signs mean."""
        yield Lines(id="heads")
        yield RowList(self._spans)
        yield Static(plain(LEGEND), id="legend")

    def fill(self) -> None:
        """Read the files anew."""
        made = self._table = table(self._paths, self.session.clock)
        rows = self.query_one(RowList)
        rows.show(tuple(WhoHas(*row) for row in made.rows), rows.cursor)
        rows.focus()
        self.head(right=table_words(made))
        self._show_heads()

    def _spans(self, row: WhoHas, width: int) -> list[Span]:
        return table_spans(row.title, row.marks, width, self._first)

    def _show_heads(self) -> None:
        made, first = self._table, self._first
        if made is not None:
            self.query_one("#heads", Lines).show(lambda width: table_head(made, width, first))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Turn to other files only where not all have room."""
        if action == "turn" and self._table is not None:
            return len(self._table.names) > columns_in(self.size.width - BESIDE)
        return super().check_action(action, parameters)

    def action_turn(self, pages: int) -> None:
        """Show other files."""
        step = columns_in(self.size.width - BESIDE)
        first = self._first + pages * step
        if self._table is not None and 0 <= first < len(self._table.names):
            self._first = first
            self.query_one(RowList).refresh()
            self._show_heads()

    def action_write(self) -> None:
        """Ask for a path and write the table there."""
        self.app.push_screen(AskLine("Write the table to", self._write, "who-has-which.txt"))

    def _write(self, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        if self._table is not None:
            write_file(path, table_text(self._table))
            say(self.tune_app, f"Written to {path}.")


WIDEST = 64
"""Characters in a line of the card, as in print."""


class CardScreen(SessionScreen[None]):
    """A card on the screen.

    Args:
        what: Name of a date or a set, a status or a state; empty is all.
    """

    HEAD = "Card"
    CSS = """
    CardScreen LineList { padding-top: 1; }
    CardScreen.-short LineList { padding: 0; }
    CardScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("w", "write", "write", "Write the card to a file: .html to print, .txt as it is"),
        bind("s", "paper", "paper", "Print on the next size of paper: A6, A5, A4 in two columns"),
        bind("o", "of", "card of …", f"Make a card of a date, a {SET}, a status or a state"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def __init__(self, what: str = "") -> None:
        super().__init__()
        self._what = what
        self._shown = False
        self._paper = Paper.A6

    def body(self) -> ComposeResult:
        """The card, a line of text a row."""
        yield LineList()
        yield Static(id="none")

    def fill(self) -> None:
        """Make the card anew."""
        lines, heading, why = [], "", ""
        try:
            card = card_for(self.session, self._what)
            heading = card.heading
            lines = card_text(card, max(30, min(WIDEST, self.size.width - 6))).splitlines()
        except NotDoneError as error:
            why = str(error)
        self._shown = bool(lines)
        rows = self.query_one(LineList)
        rows.show(tuple([(line, "")] for line in lines), rows.cursor)
        rows.display = self._shown
        none = self.query_one("#none", Static)
        none.display = not self._shown
        none.update(plain(why))
        rows.focus()
        self.head(right=f"{heading} · {self._paper}" if heading else "")
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a card there is nothing to write."""
        if action in {"write", "paper"}:
            return self._shown
        return super().check_action(action, parameters)

    def action_paper(self) -> None:
        """Take the next size of paper."""
        sizes = list(Paper)
        self._paper = sizes[(sizes.index(self._paper) + 1) % len(sizes)]
        self.refill()

    def action_of(self) -> None:
        """Ask what the card is to be of."""
        question = f"A card of which date, {self.session.settings.set_word}, status or state?"
        self.app.push_screen(AskLine(question, self._of, self._what, "empty: all tunes"))

    def _of(self, what: str) -> None:
        card_for(self.session, what)
        self._what = what
        self.query_one(LineList).cursor = 0
        self.call_after_refresh(self.refill)

    def action_write(self) -> None:
        """Ask for a path and write the card there."""
        ask = AskLine("Write the card to", self._write, "card.html", "a .html or .txt file")
        self.app.push_screen(ask)

    def _write(self, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        write_card(card_for(self.session, self._what), path, self._paper)
        say(self.tune_app, f"Written to {path}.")
