"""What was heard tonight: one line a tune, no questions. Three letters and Enter are enough."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.widgets import Static

from tunememory.library.overview import tune_rows
from tunememory.practice.heard import (
    NO_NAME,
    all_heard,
    edit_heard,
    heard_facts,
    join_heard,
    write_heard,
)
from tunememory.store.records import Heard
from tunememory.text import fold, word_finder
from tunememory.ui.actions import bind
from tunememory.ui.questions import FormScreen
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import cell, plain
from tunememory.ui.widgets import Field, LineInput, RowList, WordsLine, line_field
from tunememory.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.library.overview import TuneRow
    from tunememory.practice.heard import HeardTune
    from tunememory.ui.text import Span


class HeardForm(FormScreen):
    """One tune heard.

    Args:
        heard: The line to change; ``None`` writes a new one.
    """

    HEAD = "Heard tonight"
    ENTER_KEEPS = True

    def __init__(self, heard: HeardTune | None = None) -> None:
        super().__init__()
        self._heard = heard

    def lines(self) -> tuple[Field, ...]:
        """Everything may be empty but not all of it."""
        heard = self._heard or Heard("", self.session.day())
        return (
            line_field("name", heard.name, "empty: no name yet"),
            line_field("from", heard.from_whom, "who played it"),
            line_field("like", heard.alike, "a tune it is like"),
            line_field("note", heard.note, "after which tune, on what tape"),
        )

    def keep(self) -> str:
        """Write the line."""
        written = [self.typed(name) for name in ("name", "from", "like", "note")]
        if self._heard is None:
            return write_heard(self.session, *written).uuid
        return edit_heard(self.session, self._heard.uuid, *written).uuid


MOST_FOUND = 30
"""Tunes of one's own that are offered; more letters narrow them."""

HINT = "Letters of a name, Enter; nothing typed: no name yet."


class HeardRow(NamedTuple):
    """What Enter does: take a tune of one's own, what is typed, or change what was heard."""

    title: str
    facts: str = ""
    tune: str = ""
    typed: str = ""
    heard: HeardTune | None = None


class HeardLine(LineInput):
    """The line over the list."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "write down", "Write down what the cursor is on"),
    ]


def heard_spans(row: HeardRow, width: int) -> list[Span]:
    """Write a tune that answers to what is typed; with nothing typed, one heard today."""
    mark = ("♪ ", "quiet") if row.heard else ("+ ", "accent")
    facts = (width - 2) // 2 if row.heard else 24 if width >= 56 else 0
    title = max(0, width - 2 - facts)
    return [mark, (cell(row.title, title), ""), (cell(f" {row.facts}", facts), "quiet")]


class HeardTonight(SessionScreen[None]):
    """Writes down one tune after the other."""

    HEAD = "Heard tonight"
    CSS = """
    HeardTonight #said { height: 2; padding: 0 2 0 4; color: $quiet; }
    HeardTonight.-short #said { height: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape", "dismiss", "done", "Go back; every line is kept", key="esc"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._own: tuple[TuneRow, ...] = ()
        self._said = HINT

    def body(self) -> ComposeResult:
        """The line, what is said about it, the list."""
        yield WordsLine(HeardLine("a few letters of its name"), "♪ ")
        yield Static(id="said")
        yield RowList(heard_spans)

    def fill(self) -> None:
        """Show what was heard, or what answers to what is typed."""
        self._own = tune_rows(self.session)
        self.query_one(HeardLine).focus()
        self._show()

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        self.query_one(HeardLine).take(event)

    @property
    def _typed_text(self) -> str:
        return self.query_one(HeardLine).value.strip()

    @on(LineInput.Changed)
    def _typed(self) -> None:
        if self._typed_text:
            self._said = HINT
        self._show()

    @on(LineInput.Moved)
    def _moved(self, event: LineInput.Moved) -> None:
        self.query_one(RowList).move(event.rows, event.pages)

    def _show(self) -> None:
        day = self.session.day()
        heard = all_heard(self.session, day, day)
        self.head(right=counted(len(heard), "tune") if heard else "")
        rows = self._answers() if self._typed_text else self._written(heard)
        self.query_one(RowList).show(tuple(rows))
        self.query_one("#said", Static).update(plain(self._said))
        self.refresh_bindings()

    def _answers(self) -> list[HeardRow]:
        """Tunes of one's own with what is typed in a title, then what is typed as it is."""
        text = self._typed_text
        found = word_finder(text)
        mine = [row for row in self._own if fold(text) and found(row.folded)]
        rows = [
            HeardRow(row.tune.title, row.tune.facts, tune=row.tune.uuid)
            for row in mine[:MOST_FOUND]
        ]
        return [*rows, HeardRow(f"“{text}”, not one of mine", typed=text)]

    def _written(self, heard: Sequence[HeardTune]) -> list[HeardRow]:
        rows = (HeardRow(one.name or NO_NAME, ", ".join(heard_facts(one)), heard=one)
                for one in heard)  # fmt: skip
        return [HeardRow(NO_NAME), *rows]

    @on(LineInput.Submitted)
    @on(RowList.Chosen)
    def _take(self) -> None:
        row = self.query_one(RowList).current
        if row is None:
            return
        if row.heard is not None:
            self.app.push_screen(HeardForm(row.heard))
        elif not row.tune and not row.typed:
            self.app.push_screen(HeardForm())
        else:
            with self.trying():
                self._write(row)

    def _write(self, row: HeardRow) -> None:
        heard = write_heard(self.session, row.typed or row.title)
        if row.tune and heard.tune != row.tune:
            heard = join_heard(self.session, heard.uuid, row.tune)
        self._said = f"Written down: {heard.name}."
        line = self.query_one(HeardLine)
        line.value = ""
        self._show()
