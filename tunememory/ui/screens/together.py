"""Who has which tune, and what all can start."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.widgets import Static

from tunememory.service.exporting import write_file
from tunememory.service.pupils import Table, table, table_text
from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.drawing_pupils import LEGEND, columns_in, table_head, table_words
from tunememory.ui.paths import expanded
from tunememory.ui.screens.ask_line import AskLine
from tunememory.ui.text import plain, say
from tunememory.ui.widgets.lesson_rows import TableRows, WhoHas
from tunememory.ui.widgets.lines import Lines

if TYPE_CHECKING:
    from pathlib import Path

    from textual.app import ComposeResult
    from textual.binding import BindingType

BESIDE = 3
"""Cells beside a row: the mark before it and the bar that scrolls. The head leaves them too."""


class TogetherScreen(DeskScreen[None]):
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

    def body(self) -> ComposeResult:
        """The names, the table, what its signs mean."""
        yield Lines(id="heads")
        yield TableRows()
        yield Static(plain(LEGEND), id="legend")

    def fill(self) -> None:
        """Read the files anew."""
        made = self._table = table(self._paths, self.desk.clock)
        rows = self.query_one(TableRows)
        rows.show(tuple(WhoHas(*row) for row in made.rows), rows.cursor)
        rows.focus()
        self.head(right=table_words(made))
        self._show_heads()

    def _show_heads(self) -> None:
        made, first = self._table, self.query_one(TableRows).first
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
        rows = self.query_one(TableRows)
        step = columns_in(self.size.width - BESIDE)
        first = rows.first + pages * step
        if self._table is not None and 0 <= first < len(self._table.names):
            rows.first = first
            rows.refresh()
            self._show_heads()

    def action_write(self) -> None:
        """Ask for a path and write the table there."""
        self.app.push_screen(AskLine("Write the table to", self._write, "who-has-which.txt"))

    def _write(self, typed: str) -> None:
        path = expanded(typed.strip()).absolute()
        if self._table is not None:
            write_file(path, table_text(self._table))
            say(self.tune_app, f"Written to {path}.")
