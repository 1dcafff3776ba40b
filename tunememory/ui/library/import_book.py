"""Bring in a tune book: choose the file, watch it come in, read what came of it."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.message import Message
from textual.widgets import Static
from textual.worker import Worker, WorkerState, get_current_worker

from tunememory.errors import NotDoneError
from tunememory.library.importing import MOST_KEPT, ImportReport, import_file
from tunememory.library.overview import tune_rows
from tunememory.music.tune import Status
from tunememory.session import open_session
from tunememory.ui.actions import bind
from tunememory.ui.canvas import bar_row
from tunememory.ui.library.drawing import heading
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import bare, cell, lines, plain, wrapped
from tunememory.ui.widgets import (
    Choice,
    Field,
    LineInput,
    LineList,
    Lines,
    RowList,
    WordsLine,
    expanded,
)
from tunememory.words import counted, figures

if TYPE_CHECKING:
    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.ui.text import Span


class PathInput(LineInput):
    """A line whose Tab completes what is typed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "choose", "Go into this folder or bring in this file"),
        bind("tab", "complete", "complete", "Complete the path where it is clear"),
    ]

    class Completed(Message):
        """The player wants the path completed."""

    def action_complete(self) -> None:
        """Ask for the path to be completed."""
        self.post_message(self.Completed())


MOST_ENTRIES = 500
"""Entries of a folder offered at most; typing a letter narrows them."""

BOOKS = (".abc", ".txt", ".xml", ".musicxml", ".mxl", ".mid", ".midi", ".csv")
"""Endings of files that may be tune books; others are offered after them."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A folder or file that what is typed may become.

    Attributes:
        text: The path as it would be typed; a folder ends in a slash.
        name: Its last part.
        folder: Whether it is a folder.
    """

    text: str
    name: str
    folder: bool


def begun_anew(typed: str) -> str:
    """Return ``typed`` from where a whole path begins in it: ``x//y`` means ``/y``, ``x/~`` ``~``.

    A path that is pasted or typed after the folder offered replaces that folder.
    """
    whole = max(typed.rfind("//") + 1, typed.rfind("/~/") + 1)
    return typed[whole:]


def completions(typed: str) -> tuple[list[Entry], str]:
    """Return what ``typed`` may become, folders first, then tune books, then other files.

    Hidden entries come only when a dot is typed. Names that a terminal cannot show are left out,
    since they cannot be typed either.

    Returns:
        The entries, and why there are none when the folder cannot be read.
    """
    folder_text, begun = typed[: typed.rfind("/") + 1], typed[typed.rfind("/") + 1 :]
    found: list[Entry] = []
    try:
        with os.scandir(expanded(folder_text or ".")) as entries:
            for entry in entries:
                name = entry.name
                if not name.casefold().startswith(begun.casefold()) or bare(name) != name:
                    continue
                if name.startswith(".") and not begun.startswith("."):
                    continue
                folder = entry.is_dir()
                found.append(Entry(f"{folder_text}{name}{'/' if folder else ''}", name, folder))
    except OSError as error:
        where = bare(folder_text) or "this folder"
        return [], f"{where}: {(error.strerror or 'cannot be read').lower()}"
    found.sort(key=_place)
    return found[:MOST_ENTRIES], ""


def completed(typed: str, entries: list[Entry]) -> str:
    """Return ``typed`` with all the letters that the entries have in common."""
    if not entries:
        return typed
    common = 0
    for signs in zip(*(entry.text for entry in entries), strict=False):
        if len({sign.casefold() for sign in signs}) > 1:
            break
        common += 1
    return entries[0].text[:common] if common > len(typed) else typed


def _place(entry: Entry) -> tuple[int, str]:
    kind = 0 if entry.folder else 1 if entry.name.casefold().endswith(BOOKS) else 2
    return kind, entry.name.casefold()


def entry_spans(row: Entry, width: int) -> list[Span]:
    """Write an entry: a folder with a slash, a file that is no tune book quiet."""
    if row.folder:
        return [(cell(f"{row.name}/", width), "accent")]
    return [(cell(row.name, width), "" if row.name.casefold().endswith(BOOKS) else "quiet")]


def report_sentence(report: ImportReport) -> str:
    """Say what came of it in one sentence.

    >>> from tunememory.library.importing import ImportReport
    >>> report_sentence(ImportReport(taken=2, unchanged=1))
    '2 tunes taken, 1 unchanged.'
    """
    parts = [f"{counted(report.taken, 'tune')} taken"]
    for number, word in (
        (report.unchanged, "unchanged"),
        (report.changed, "changed"),
        (len(report.refused), "refused"),
    ):
        if number:
            parts.append(f"{number} {word}")
    if report.doubtful:
        # One tune may be doubtful for several reasons.
        parts.append(counted(len(report.doubtful), "doubt"))
    return ", ".join(parts) + "."


def came_in_as(report: ImportReport, status: Status | None) -> list[str]:
    """Say what the tunes taken came in as, in one sentence; nothing when none was.

    Args:
        report: What came of the import.
        status: What the player asked for; ``None`` left it to the size of the book.

    >>> from tunememory.library.importing import ImportReport
    >>> came_in_as(ImportReport(taken=61, wanted=61), None)
    ['They came in as wanted: not asked until you learn them.']
    """
    if not report.taken:
        return []
    if report.wanted:
        some = "They" if report.wanted == report.taken else f"{figures(report.wanted)} of them"
        return [f"{some} came in as wanted: not asked until you learn them."]
    word = "in learning" if status is Status.LEARNING else "kept"
    return [f"They came in as {word}."]


def report_lines(report: ImportReport, width: int) -> list[list[Span]]:
    """Write what was refused and what is doubtful, each with its reason.

    A reason that several tunes share is written once, over their titles; the commonest is first.
    """
    lines: list[list[Span]] = []
    if report.refused:
        lines.append(heading("refused", width))
        for refused in report.refused:
            where = f"line {refused.line}" if refused.line else PurePath(refused.file).name
            lines.extend(_item(where, refused.why, width))
    if report.doubtful:
        if lines:
            lines.append([])
        lines.append(heading("taken, but doubtful", width))
        titles: dict[str, list[str]] = {}
        for title, why in report.doubtful:
            titles.setdefault(why, []).append(title)
        for why, those in sorted(titles.items(), key=lambda pair: -len(pair[1])):
            if len(those) == 1:
                lines.extend(_item(those[0], why, width))
            else:
                lines.extend(wrapped(f"{counted(len(those), 'tune')}: {why}", width))
                for title in those:
                    lines.extend(wrapped(title, width, "quiet", indent=4))
    return lines


def _item(what: str, why: str, width: int) -> list[list[Span]]:
    return [*wrapped(what, width), *wrapped(why, width, "quiet", indent=4)]


SECONDS_BETWEEN = 0.05
"""Between two reports of the worker: more often is not seen."""


STATUSES: dict[str, Status | None] = {
    "by its size": None,
    "kept": Status.KEPT,
    "in learning": Status.LEARNING,
    "wanted": Status.WANTED,
}
"""What the tunes of a book may come in as."""

_ASKED = (
    "What are the tunes of this book to you? Kept ones are asked, wanted ones not until you "
    f"learn them. By its size: up to {MOST_KEPT} are kept, a larger book comes in as wanted."
)


class _BrokenOffError(Exception):
    """Raised inside the worker when the player breaks the import off."""


class ImportScreen(SessionScreen[None]):
    """Choose, bring in, report.

    Args:
        folder: Where choosing begins; the current folder if not given.
    """

    HEAD = "Bring in a tune book"
    CSS = """
    ImportScreen #said { height: auto; padding: 0 2 1 2; color: $quiet; }
    ImportScreen #bar { padding: 1 2; display: none; }
    ImportScreen #as { padding: 0 2 0 0; display: none; }
    ImportScreen LineList { display: none; }
    ImportScreen.-short #said { padding: 0 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "begin", "bring it in", "Bring the book in", key="⏎"),
        bind("escape", "back", "back", "Break off, or go back"),
    ]

    class Progress(Message):
        """So many tunes of so many are done."""

        def __init__(self, done: int, total: int) -> None:
            super().__init__()
            self.done = done
            self.total = total

        def can_replace(self, message: Message) -> bool:
            """Only the newest counts."""
            return isinstance(message, ImportScreen.Progress)

    def __init__(self, folder: Path | None = None) -> None:
        super().__init__()
        self._folder = folder
        self._book: Path | None = None
        self._worker: Worker[ImportReport | None] | None = None
        self._report: ImportReport | None = None

    def body(self) -> ComposeResult:
        """The path, the completions; the bar; the report."""
        yield WordsLine(PathInput(), "file ")
        yield Static(id="said")
        yield Field("they are", Choice(tuple(STATUSES), next(iter(STATUSES))), id="as")
        yield RowList(entry_spans)
        yield Lines(id="bar")
        yield LineList()

    # Choosing the file.

    @property
    def choosing(self) -> bool:
        """Whether no book is chosen, is coming in or was reported on."""
        return self._book is None and self._worker is None and self._report is None

    def on_mount(self) -> None:
        """Begin in the folder given."""
        self.query_one(PathInput).value = f"{self._folder or Path.cwd()}".rstrip("/") + "/"

    def fill(self) -> None:
        """Be ready to type, unless a book is chosen, is coming in or was reported on."""
        if self.choosing:
            self.query_one(PathInput).focus()
        self.refresh_bindings()

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        if self.choosing:
            self.query_one(PathInput).take(event)

    @on(PathInput.Changed)
    def offer(self) -> None:
        """Offer what the path typed may become."""
        if not self.choosing:
            return
        typed = self.query_one(PathInput).value
        if begun_anew(typed) != typed:
            self._type(begun_anew(typed))
            return
        entries, why = completions(typed)
        if not entries and not why:
            why = "Nothing here is called that."
        self.query_one(RowList).show(tuple(entries))
        self.query_one(RowList).display = bool(entries)
        self.say(why or "ABC tune books, of any size. What is in one already is not taken twice.")

    def say(self, *rows: str) -> None:
        """Write lines between the path and the list."""
        self.query_one("#said", Static).update(lines(*(plain(row) for row in rows)))

    def _type(self, text: str) -> None:
        field = self.query_one(PathInput)
        field.value = text
        field.cursor_position = len(text)

    @on(PathInput.Moved)
    def _moved(self, event: PathInput.Moved) -> None:
        self.query_one(RowList).move(event.rows, event.pages)

    @on(PathInput.Completed)
    def _complete(self) -> None:
        """Add the letters that are clear; when none are, take the entry under the cursor."""
        if self.choosing:
            typed = self.query_one(PathInput).value
            listed = self.query_one(RowList)
            further = completed(typed, list(listed.rows))
            if further == typed and listed.current is not None:
                further = listed.current.text
            self._type(further)

    @on(PathInput.Submitted)
    @on(RowList.Chosen)
    def _choose(self) -> None:
        """Go into a folder, or bring in a file."""
        if not self.choosing:
            return
        typed = self.query_one(PathInput).value.strip()
        entry: Entry | None = self.query_one(RowList).current
        path = expanded(typed)
        if typed and path.is_file():
            self._chosen(path)
        elif entry is None:
            self.say("There is no such file.")
        elif entry.folder:
            self._type(entry.text)
        else:
            self._type(entry.text)
            self._chosen(expanded(entry.text))

    def _chosen(self, path: Path) -> None:
        """Ask once what the tunes are to the player."""
        self._book = path
        self.query_one(PathInput).disabled = True
        self.query_one(RowList).display = False
        self.query_one("#as").display = True
        self.say(_ASKED)
        self.query_one(Choice).focus()
        self.refresh_bindings()

    # Bringing in.

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Begin only with a book chosen."""
        return self._book is not None if action == "begin" else True

    @property
    def _status(self) -> Status | None:
        return STATUSES[self.query_one(Choice).value]

    def action_begin(self) -> None:
        """Bring in the book chosen."""
        path, self._book = self._book, None
        if path is None:
            return
        self.query_one("#as").display = False
        self.query_one("#bar").display = True
        self.say("Bringing it in. You can break off with escape; then nothing of it is kept.")
        self._draw_bar(0, 0)
        self._worker = self._bring_in(path, self._status)
        self.refresh_bindings()

    @work(thread=True, exclusive=True, group="import", exit_on_error=False)
    def _bring_in(self, path: Path, status: Status | None) -> ImportReport | None:
        """Read the book with a session of its own; ``None`` when it was broken off."""
        worker = get_current_worker()
        last = 0.0

        def progress(done: int, total: int) -> None:
            nonlocal last
            if worker.is_cancelled:
                raise _BrokenOffError
            now = time.monotonic()
            if now - last >= SECONDS_BETWEEN or done == total:
                last = now
                self.post_message(self.Progress(done, total))

        try:
            with open_session(self.session.path, self.session.clock) as session:
                return import_file(session, path, progress, status)
        except _BrokenOffError:
            return None

    @on(Progress)
    def _progressed(self, message: Progress) -> None:
        if self._worker is not None:
            self._draw_bar(message.done, message.total)

    def _draw_bar(self, done: int, total: int) -> None:
        self.query_one("#bar", Lines).show(lambda width: bar_lines(done, total, width))

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Report when the worker is done, was broken off, or could not go on."""
        if event.worker is not self._worker or not event.worker.is_finished:
            return
        self._worker = None
        self.query_one("#bar").display = False
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, ImportReport):
            self._show(event.worker.result)
            return
        self._choose_again()
        error = event.worker.error
        if isinstance(error, NotDoneError):
            self.say(str(error))
        elif error is not None and event.state is WorkerState.ERROR:
            self.say(f"This file could not be brought in ({error}); nothing of it was kept.")
        else:
            self.say("Broken off. Nothing of the book was kept.")

    def _choose_again(self) -> None:
        self.query_one("#as").display = False
        field = self.query_one(PathInput)
        field.disabled = False
        field.focus()
        self.query_one(RowList).display = bool(self.query_one(RowList).rows)
        self.refresh_bindings()

    # The report.

    def _show(self, report: ImportReport) -> None:
        self._report = report
        self.session.reload()
        rows = [report_sentence(report), *came_in_as(report, self._status)]
        if not report.refused and not report.doubtful:
            rows += ["", "Nothing was refused and nothing is doubtful."]
        self.say(*rows)
        self.head(right=counted(len(tune_rows(self.session)), "tune") + " now")
        self.query_one(WordsLine).display = False
        listed = self.query_one(LineList)
        listed.display = bool(report.refused or report.doubtful)
        self._lay_out()
        listed.focus()
        self.refresh_bindings()

    def on_resize(self) -> None:
        """Break the lines of the report anew."""
        self._lay_out()

    def _lay_out(self) -> None:
        if self._report is not None:
            listed = self.query_one(LineList)
            listed.show(tuple(report_lines(self._report, self.size.width - 6)), listed.cursor)

    # Keys.

    def action_back(self) -> None:
        """Break off a running import, choose another book, or leave."""
        if self._worker is not None:
            self._worker.cancel()
        elif self._book is not None:
            self._book = None
            self._choose_again()
            self.offer()
        else:
            self.dismiss(None)


def bar_lines(done: int, total: int, width: int) -> list[list[Span]]:
    """Draw how far it is: a staff line that fills, a note at its end, and the numbers."""
    said = f"{figures(done)} of {counted(total, 'tune')}" if total else "opening the book"
    return [bar_row(done / total if total else 0.0, width), [(said, "quiet")]]
