"""Choosing a tune book by its path, letter by letter."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual import on
from textual.widgets import Static

from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.paths import Entry, begun_anew, completed, completions, expanded
from tunememory.ui.text import lines, plain
from tunememory.ui.widgets.path_input import PathInput
from tunememory.ui.widgets.path_list import PathList

if TYPE_CHECKING:
    from textual import events


class ChooseBook(DeskScreen[None]):
    """The part of bringing a book in that chooses the file.

    Holds a ``PathInput`` over a ``PathList``, and ``#said``, the lines between them.

    Args:
        folder: Where choosing begins; the current folder if not given.
    """

    def __init__(self, folder: Path | None = None) -> None:
        super().__init__()
        self._folder = folder

    @property
    def choosing(self) -> bool:
        """Whether a book is still to be chosen."""
        raise NotImplementedError

    def chosen(self, path: Path) -> None:
        """Go on with the book chosen."""
        raise NotImplementedError

    def on_mount(self) -> None:
        """Begin in the folder given."""
        folder = self._folder or Path.cwd()
        self.query_one(PathInput).value = _with_slash(folder)

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
        self.query_one(PathList).show(tuple(entries))
        self.query_one(PathList).display = bool(entries)
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
        self.query_one(PathList).move(event.rows, event.pages)

    @on(PathInput.Completed)
    def _complete(self) -> None:
        """Add the letters that are clear; when none are, take the entry under the cursor."""
        if self.choosing:
            typed = self.query_one(PathInput).value
            listed = self.query_one(PathList)
            further = completed(typed, list(listed.rows))
            if further == typed and listed.current is not None:
                further = listed.current.text
            self._type(further)

    @on(PathInput.Submitted)
    @on(PathList.Chosen)
    def _choose(self) -> None:
        """Go into a folder, or bring in a file."""
        if not self.choosing:
            return
        typed = self.query_one(PathInput).value.strip()
        entry: Entry | None = self.query_one(PathList).current
        path = expanded(typed)
        if typed and path.is_file():
            self.chosen(path)
        elif entry is None:
            self.say("There is no such file.")
        elif entry.folder:
            self._type(entry.text)
        else:
            self._type(entry.text)
            self.chosen(expanded(entry.text))


def _with_slash(folder: Path) -> str:
    text = str(folder)
    return text if text.endswith("/") else f"{text}/"
