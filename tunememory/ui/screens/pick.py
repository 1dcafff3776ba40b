"""Pick one thing, or several in an order, from a list that follows what is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.containers import Horizontal
from textual.widgets import Static

from tunememory.tunes.text import fold
from tunememory.ui.actions import bind
from tunememory.ui.desk_screen import DeskScreen
from tunememory.ui.text import cell, plain
from tunememory.ui.widgets.line_input import LineInput
from tunememory.ui.widgets.row_list import RowList
from tunememory.ui.words import counted, figures

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.service.desk import Desk
    from tunememory.ui.text import Span


class PickRow(NamedTuple):
    """What can be picked: ``folded`` is looked through, ``facts`` stand beside the title."""

    uuid: str
    title: str
    facts: str
    folded: str


def tunes_to_pick(desk: Desk) -> tuple[PickRow, ...]:
    """Every tune."""
    return tuple(
        PickRow(row.uuid, row.title, " ".join(filter(None, (row.key, row.kind))), row.folded)
        for row in desk.rows()
    )


def sets_to_pick(desk: Desk) -> tuple[PickRow, ...]:
    """Every set."""
    return tuple(
        PickRow(one.uuid, one.name, counted(len(one.tunes), "tune"), fold(one.name))
        for one in desk.all_sets()
    )


class PickLine(LineInput):
    """The line over the list."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "submit", "pick", "Pick what the cursor is on, or let it go again"),
    ]


class PickRows(RowList[PickRow]):
    """Things to pick, the picked ones numbered."""

    picked: tuple[str, ...] = ()
    """Identities of what is picked, in order."""

    def spans(self, row: PickRow, width: int) -> Sequence[Span]:
        """Write one row."""
        number = self.picked.index(row.uuid) + 1 if row.uuid in self.picked else 0
        mark = f"{number:>3} " if number else "  · "
        title = max(0, width - 24)
        return [
            (mark, "bright" if number else "staff"),
            (cell(row.title, title), "strong" if number else ""),
            (cell(f" {row.facts}", width - 4 - title), "quiet"),
        ]


class PickScreen(DeskScreen[tuple[str, ...]]):
    """Gives the identities picked, in order, or ``None``.

    Args:
        question: What is picked, in words; stands at the top.
        picked: What is picked already.
        many: Several may be picked; otherwise the first one ends it.
        read: Gives what can be picked.
    """

    OPENS_AREAS = False
    NOTHING: ClassVar[str] = "There is nothing to pick yet."
    DEFAULT_CSS = """
    PickScreen #words { height: 1; padding: 0 2; margin-top: 1; }
    PickScreen #words Static { width: auto; color: $accent; text-style: bold; }
    PickScreen #words Input { width: 1fr; background: $raised; padding: 0; }
    PickScreen #said { height: 1; padding: 0 2 0 4; color: $quiet; }
    PickScreen.-short #words { margin-top: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("ctrl+s,f2", "keep", "done", "Take what is picked and go back", key="ctrl+s"),
        bind("escape", "leave", "leave", "Go back without picking", key="esc"),
    ]

    def __init__(
        self,
        question: str,
        picked: Sequence[str] = (),
        *,
        many: bool = False,
        read: Callable[[Desk], tuple[PickRow, ...]] = tunes_to_pick,
    ) -> None:
        super().__init__()
        self._question = question
        self._picked = list(picked)
        self._many = many
        self._read = read
        self._all: tuple[PickRow, ...] = ()

    def body(self) -> ComposeResult:
        """The line, what is said, the list."""
        with Horizontal(id="words"):
            yield Static("/ ")
            yield PickLine("letters of a name")
        yield Static(id="said")
        yield PickRows()

    @property
    def all_rows(self) -> tuple[PickRow, ...]:
        """Everything that can be picked."""
        return self._all

    def fill(self) -> None:
        """Show the list, what is picked first."""
        self.head(left=self._question)
        rows = {row.uuid: row for row in self._read(self.desk)}
        self._picked = [uuid for uuid in self._picked if uuid in rows]
        first = [rows[uuid] for uuid in dict.fromkeys(self._picked)]
        self._all = (*first, *(row for row in rows.values() if row not in first))
        self.query_one(PickLine).focus()
        self._show()

    def _show(self) -> None:
        wanted = [f" {word}" for word in fold(self.query_one(PickLine).value).split()]
        shown = tuple(row for row in self._all if all(word in f" {row.folded}" for word in wanted))
        rows = self.query_one(PickRows)
        here = rows.current
        rows.picked = tuple(self._picked)
        place = next((n for n, row in enumerate(shown) if here and row.uuid == here.uuid), 0)
        rows.show(shown, place)
        said = f"{figures(len(self._picked))} picked" if self._many else ""
        if not self._all:
            said = self.NOTHING
        elif not shown:
            said = "Nothing has that in its name."
        self.query_one("#said", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """For one there is no need to say that all are picked."""
        if action == "keep":
            return self._many
        return super().check_action(action, parameters)

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        self.query_one(PickLine).take(event)

    @on(LineInput.Changed)
    def _typed(self) -> None:
        self._show()

    @on(LineInput.Moved)
    def _moved(self, event: LineInput.Moved) -> None:
        self.query_one(PickRows).move(event.rows, event.pages)

    @on(LineInput.Submitted)
    @on(PickRows.Chosen)
    def _pick(self) -> None:
        row = self.query_one(PickRows).current
        if row is None:
            return
        if not self._many:
            self.chosen(row.uuid)
            return
        if row.uuid in self._picked:
            self._picked.remove(row.uuid)
        else:
            self._picked.append(row.uuid)
        # The next name can be typed at once.
        line = self.query_one(PickLine)
        if line.value:
            line.value = ""
        else:
            self._show()

    def chosen(self, uuid: str) -> None:
        """Take the one that is picked."""
        self.dismiss((uuid,))

    def action_keep(self) -> None:
        """Take what is picked."""
        self.dismiss(tuple(self._picked))

    def action_leave(self) -> None:
        """Pick nothing."""
        self.dismiss(None)
