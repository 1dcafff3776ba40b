"""One pupil's lesson: what was given, what to mend, how it came, what to begin with next time."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.service.errors import ServiceError
from tunememory.service.lessons import Lesson, LessonRow
from tunememory.tunes.check import Level
from tunememory.ui.actions import bind
from tunememory.ui.drawing_pupils import lesson_words, starts_under
from tunememory.ui.hearing import HearingScreen
from tunememory.ui.paths import expanded
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.screens.pick import PickScreen
from tunememory.ui.text import joined, lines, plain, say
from tunememory.ui.widgets.lesson_rows import LessonRows
from tunememory.ui.widgets.lines import Lines
from tunememory.ui.words import ago

if TYPE_CHECKING:
    from pathlib import Path

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content

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
    PupilPage LessonRows { padding-top: 1; }
    PupilPage.-short LessonRows { padding: 0; }
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
        yield LessonRows()
        yield Static(plain(NO_TUNES), id="none")
        yield Lines(id="starts")

    def fill(self) -> None:
        """Open the file at first; show its tunes, the cursor on the one it was on."""
        try:
            if self._lesson is None:
                self._lesson = Lesson(self._path, self.desk.clock, create=self._create)
            found = self._lesson.rows()
        except ServiceError as error:
            say(self.tune_app, str(error), "error")
            self.dismiss(None)
            return
        rows = self._rows
        here = rows.current
        place = next((n for n, row in enumerate(found) if here and row.tune == here.tune), 0)
        rows.today = self.desk.day()
        rows.show(found, place)
        rows.display = bool(found)
        self.query_one("#none").display = not found
        rows.focus()
        self.head(left=self._lesson.name, right=lesson_words(found))
        line = self.query_one("#line", Static)
        said = self._said(self._lesson)
        line.update(said)
        line.display = bool(said.plain)
        self._moved()

    def _said(self, lesson: Lesson) -> Content:
        line, day = lesson.line()
        own = lesson.next_line()
        said = []
        if line:
            when = f"{ago(day, self.desk.day()).capitalize()}: "
            said.append(joined((when, "$quiet"), (line, "bold")))
        if own:
            said.append(joined(("Next time: ", "$quiet"), (own, "bold")))
        return lines(*said)

    @property
    def _rows(self) -> LessonRows:
        return self.query_one(LessonRows)

    @property
    def _here(self) -> LessonRow | None:
        return self._rows.current

    @on(LessonRows.Highlighted)
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
        here, lesson = self._here, self._lesson
        if here is not None and lesson is not None:
            with self.trying():
                lesson.mark(here.tune, Level(number))
                self._marked = True
                cursor = self._rows.cursor
                self._show_marks()
                self._rows.cursor = cursor + 1

    def _show_marks(self) -> None:
        """Show the marks; tunes stay where they are until the page is opened anew."""
        if self._lesson is not None:
            now = {row.tune: row for row in self._lesson.rows()}
            rows = [now.get(row.tune, row) for row in self._rows.rows]
            self._rows.show(tuple(rows), self._rows.cursor)

    def action_undo(self) -> None:
        """Take the last mark back."""
        if self._lesson is not None:
            with self.trying():
                title = self._lesson.undo()
                self._marked = bool(title)
                say(self.tune_app, f"Taken back: {title}." if title else "Nothing to take back.")
                self._show_marks()

    def action_has_it(self) -> None:
        """Say that the pupil has the tune."""
        if self._here is not None and self._lesson is not None:
            with self.trying():
                self._lesson.has_it(self._here.tune)
                say(self.tune_app, f"{self._here.title}: had now.")
                self.fill()

    def action_hear(self) -> None:
        """Hear the starts of the tune, or stop."""
        if self.sounds:
            self.hush()
        elif self._here is not None and self._lesson is not None:
            with self.trying():
                self.hear(self._lesson.sound(self._here.tune))

    def action_give(self) -> None:
        """Pick one of the teacher's tunes."""
        self.app.push_screen(PickScreen("Which tune to give?"), self._give)

    def _give(self, picked: tuple[str, ...] | None) -> None:
        if picked and self._lesson is not None:
            with self.trying():
                given = self._lesson.give(self.desk, picked[0])
                said = (
                    f"Given: {given.given[0]}." if given.given else f"Had already: {given.had[0]}."
                )
                say(self.tune_app, said)
                self.fill()

    def action_line(self) -> None:
        """Ask what to begin with next time."""
        if self._lesson is not None:
            ask = AskLine("What shall we begin with next time?", self._lesson.write_line,
                          self._lesson.next_line(), "one line",
                          titles=[row.title for row in self._rows.rows])  # fmt: skip
            self.app.push_screen(ask)

    def action_slip(self) -> None:
        """Ask for a path and write the slip there."""
        if self._lesson is not None:
            keep = partial(self._slip, self._lesson)
            given = f"{self._lesson.name}.html"
            self.app.push_screen(AskLine("Write the slip to", keep, given, "a .html or .txt file"))

    def _slip(self, lesson: Lesson, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        lesson.write_slip(path)
        say(self.tune_app, f"Written to {path}.")

    def on_unmount(self) -> None:
        """Close the pupil's file."""
        if self._lesson is not None:
            self._lesson.close()
