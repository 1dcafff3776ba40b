"""My tunes: the whole repertoire as a list, found, sorted and narrowed by keys."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import on
from textual.widgets import Static

from tunememory.library.overview import TuneRow, tune_rows
from tunememory.music.tune import Status
from tunememory.recall.state import State
from tunememory.text import fold, word_finder
from tunememory.ui.actions import bind
from tunememory.ui.canvas import SPACES, space_of
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import cell, joined, lines, plain, width_of
from tunememory.ui.widgets import LineInput, Lines, RowList, WordsLine
from tunememory.words import counted, figures

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.content import Content

    from tunememory.ui.text import Span


_Word = TypeVar("_Word", State, Status)


class Order(StrEnum):
    """What the list is sorted by."""

    NAME = "name"
    KEY = "key"
    KIND = "kind"
    CHANCE = "chance"
    TUNING = "tuning"


_FACTS: dict[Order, Callable[[TuneRow], str]] = {
    Order.KEY: lambda row: row.tune.key_short,
    Order.KIND: lambda row: row.tune.kind,
    Order.TUNING: lambda row: row.tuning,
}

STATES = (State.FADING, State.RUSTY, State.LOST, State.NOT_ASKED, State.SAFE)
"""The states in the order a list is narrowed to them: what wants looking at comes first."""

STATUSES = (Status.LEARNING, Status.WANTED, Status.RESTING, Status.KEPT)
"""The same for what the player says."""


@dataclass(frozen=True, slots=True)
class Shown:
    """Which tunes are in sight and in what order.

    Attributes:
        words: Each must begin a word of one of the tune's titles.
        order: What they are sorted by; equal ones stay in title order.
        backwards: The other way round.
        state: Only tunes in this state, or ``None`` for all.
        status: Only tunes the player gave this status, or ``None`` for all.
    """

    words: str = ""
    order: Order = Order.NAME
    backwards: bool = False
    state: State | None = None
    status: Status | None = None

    @property
    def narrowed(self) -> bool:
        """Whether some tunes may be out of sight."""
        return bool(fold(self.words)) or self.state is not None or self.status is not None

    def next_state(self) -> Shown:
        """The same with the next state, all of them after the last."""
        return replace(self, state=_after(self.state, STATES))

    def next_status(self) -> Shown:
        """The same with the next status, all of them after the last."""
        return replace(self, status=_after(self.status, STATUSES))

    def next_order(self) -> Shown:
        """The same sorted by the next thing."""
        orders = tuple(Order)
        place = orders.index(self.order) + 1
        return replace(self, order=orders[place % len(orders)], backwards=False)


def choose(rows: tuple[TuneRow, ...], shown: Shown) -> tuple[TuneRow, ...]:
    """Return the rows that ``shown`` lets through, in its order.

    Args:
        rows: All tunes, in title order.
        shown: The filter and the order.
    """
    found = word_finder(shown.words)
    kept = [
        row
        for row in rows
        if (shown.state is None or _state_shown(row) is shown.state)
        and (shown.status is None or row.tune.status is shown.status)
        and found(row.folded)
    ]
    if shown.order is Order.CHANCE:
        had = [row for row in kept if row.tune.status is not Status.WANTED]
        had.sort(key=lambda row: row.chance.chance, reverse=shown.backwards)
        return (*had, *(row for row in kept if row.tune.status is Status.WANTED))
    if shown.order is Order.NAME:
        return tuple(reversed(kept) if shown.backwards else kept)
    fact = _FACTS[shown.order]
    # What is not known comes last, whichever way the rest goes.
    known = sorted((row for row in kept if fact(row)), key=fact, reverse=shown.backwards)
    return (*known, *(row for row in kept if not fact(row)))


def _state_shown(row: TuneRow) -> State | None:
    """State of a tune that is asked; a resting or wanted one has none to show."""
    return row.chance.state if row.tune.status.asked_for else None


def _after(now: _Word | None, words: tuple[_Word, ...]) -> _Word | None:
    place = 0 if now is None else words.index(now) + 1
    return words[place] if place < len(words) else None


STATE_ROLES = {
    State.SAFE: "safe",
    State.FADING: "fading",
    State.RUSTY: "rusty",
    State.LOST: "lost",
    State.NOT_ASKED: "new",
}
"""Roles (component classes) in which the states are written."""

NARROW_STAFF = 5
WIDE_STAFF = 9
"""Cells of the small staff: five lines, and with the spaces between them."""

SUREST = 0.95
"""From this chance on a note stands on the top line of the narrow staff."""


def tune_spans(row: TuneRow, width: int, order: Order) -> list[Span]:
    """Write a tune in ``width`` cells; columns give way from the right as the window narrows.

    Args:
        row: The tune.
        width: Cells, the mark of the cursor left out.
        order: Decides whether a narrow list shows the kind or the tuning.
    """
    columns = columns_for(width, order)
    spans = _title_spans(row, columns.title)
    for text, room in (
        (" · ".join(row.tune.titles[1:]), columns.others),
        (row.tune.key_short, columns.key),
        (row.tune.kind, columns.kind),
        (row.tuning, columns.tuning),
    ):
        if room:
            spans.append((" " + cell(text, room - 1), "quiet"))
    spans.append((" ", ""))
    spans.extend(chance_spans(row, columns.staff))
    spans.append((" " + cell(_word(row), columns.word - 1), _role(row)))
    return spans


def small_staff(chance: float, width: int) -> tuple[str, str, str]:
    """Return a staff laid on its side: before the note, the note, after it.

    Its right end is the top line. On the wide staff the note stands in the space of its state;
    the narrow one has a line for each state, and the top one for the surest.

    >>> "".join(small_staff(0.72, WIDE_STAFF)), "".join(small_staff(0.72, NARROW_STAFF))
    ('│ │ │●│ │', '││●││')
    """
    space = SPACES.index(space_of(chance))
    if width == WIDE_STAFF:
        lines, place = "│ │ │ │ │", 2 * space + 1
    else:
        lines, place = "│││││", space + (chance >= SUREST)
    return lines[:place], "●", lines[place + 1 :]


def chance_spans(row: TuneRow, width: int) -> list[Span]:
    """Write the small staff of one tune; a tune only wanted has no note on it yet."""
    before, note, after = small_staff(row.chance.chance, width)
    if row.tune.status is Status.WANTED:
        return [(f"{before}{'│' if width == NARROW_STAFF else ' '}{after}", "staff")]
    if row.chance.state is State.NOT_ASKED:
        note = "○"
    return [(before, "staff"), (note, _role(row)), (after, "staff")]


def heads_spans(width: int, shown: Shown) -> list[Span]:
    """Write the heads of the columns, an arrow at the one the list is sorted by.

    Args:
        width: Cells of a row, the mark of the cursor left out.
        shown: The filter and order of the list.
    """
    columns = columns_for(width, shown.order)
    arrow = "▴" if shown.backwards else "▾"
    spans: list[Span] = []
    for order, room in (
        (Order.NAME, columns.title + columns.others),
        (Order.KEY, columns.key),
        (Order.KIND, columns.kind),
        (Order.TUNING, columns.tuning),
        (Order.CHANCE, 1 + columns.staff + columns.word),
    ):
        sorted_by = order is shown.order
        word = f"{order.value} {arrow}" if sorted_by else order.value
        gap = "" if order is Order.NAME else " "
        spans.append((cell(gap + word, room), "accent" if sorted_by else "quiet"))
    return spans


def _title_spans(row: TuneRow, width: int) -> list[Span]:
    role = "" if row.tune.status.asked_for else "quiet"
    note = " · learning" if row.tune.status is Status.LEARNING else ""
    if width_of(row.tune.title) + len(note) > width:
        note = ""
    used = min(width_of(row.tune.title), width - len(note))
    return [(cell(row.tune.title, used), role), (cell(note, width - used), "quiet")]


def _word(row: TuneRow) -> str:
    if not row.tune.status.asked_for:
        return row.tune.status.value
    return "not asked" if row.chance.state is State.NOT_ASKED else row.chance.state.value


def _role(row: TuneRow) -> str:
    if not row.tune.status.asked_for:
        return "quiet"
    return STATE_ROLES[row.chance.state]


@dataclass(frozen=True, slots=True)
class Columns:
    """Cells of each column, the blank before it included; 0 leaves it out."""

    title: int
    others: int
    key: int
    kind: int
    tuning: int
    staff: int
    word: int


def columns_for(width: int, order: Order) -> Columns:
    """Share ``width`` cells among the columns; the titles get what the others leave."""
    word = 10
    staff = WIDE_STAFF if width >= 68 else NARROW_STAFF
    key = 7 if width >= 44 else 0
    kind = 11 if width >= 52 else 0
    tuning = 7 if width >= 68 else 0
    if not tuning and kind and order is Order.TUNING:
        kind, tuning = 0, 7
    title = max(0, width - (key + kind + tuning + 1 + staff + word))
    others = max(0, title - 44)
    if others < 20:
        others = 0
    return Columns(title - others, others, key, kind, tuning, staff, word)


class TunesScreen(SessionScreen[None]):
    """The list of tunes."""

    HEAD = "My tunes"
    CSS = """
    TunesScreen WordsLine { margin: 0; display: none; }
    TunesScreen WordsLine Input { background: $background; }
    TunesScreen #heads { padding: 0 1 0 2; height: 1; margin-top: 1; }
    TunesScreen #none { padding: 1 2; height: 1fr; color: $quiet; display: none; }
    TunesScreen.-short #heads { margin-top: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("slash", "look", "look", "Look for a word of a title as you type"),
        bind("n,a", "add", "new tune", "Add a tune"),
        bind("c", "check", "check", "Ask for this tune now", shown=False),
        bind("e", "edit", "edit", "Change this tune", shown=False),
        bind("s", "sort", "sort", "Sort by name, key, kind, chance or tuning in turn"),
        bind("r", "turn_round", "turn round", "Turn the order round", shown=False),
        bind("f", "state", "fading only", "Show only fading, rusty, lost, not asked or safe tunes"),
        bind(
            "l",
            "status",
            "learning only",
            "Show only tunes in learning, wanted, resting or kept",
            shown=False,
        ),
        bind("i", "app.open('import')", "import", "Bring in a tune book", shown=False),
        bind("p", "app.open('pupils')", "pupils", "Go to the pupils", shown=False),
        bind("escape", "back", "back", "Show all tunes again, then go back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.shown = Shown()
        self._all: tuple[TuneRow, ...] = ()

    @property
    def tunes(self) -> RowList[TuneRow]:
        """The list."""
        return self.query_one(RowList)

    def body(self) -> ComposeResult:
        """The line to type in, the heads of the columns, the list."""
        yield WordsLine(LineInput("a word of the title"))
        yield Lines(lambda width: [heads_spans(width, self.shown)], id="heads")
        yield RowList(self._write)
        yield Static(id="none")

    def _write(self, row: TuneRow, width: int) -> list[Span]:
        return tune_spans(row, width, self.shown.order)

    def fill(self) -> None:
        """Show the tunes, the cursor where it was."""
        self._all = tune_rows(self.session)
        self._show()
        if not isinstance(self.focused, LineInput):
            self.tunes.focus()

    def _show(self, uuid: str = "") -> None:
        """Show what the filter lets through; the cursor on ``uuid``, or on the tune it was on."""
        here = self.tunes.current
        uuid = uuid or (here.tune.uuid if here else "")
        rows = choose(self._all, self.shown)
        cursor = next((place for place, row in enumerate(rows) if row.tune.uuid == uuid), 0)
        self.tunes.show(rows, cursor)
        self.query_one("#heads", Lines).show(lambda width: [heads_spans(width, self.shown)])
        self.query_one("#heads").display = bool(rows)
        self.tunes.display = bool(rows)
        none = self.query_one("#none", Static)
        none.display = not rows
        if not rows:
            none.update(self._nothing())
        self.head(right=self._summary(len(rows)))
        self.refresh_bindings()

    def _summary(self, number: int) -> str:
        if not self.shown.narrowed:
            return counted(number, "tune")
        only = [word.value for word in (self.shown.state, self.shown.status) if word]
        return " · ".join([f"{figures(number)} of {counted(len(self._all), 'tune')}", *only])

    def _nothing(self) -> Content:
        accent = "bold $accent"
        if not self._all:
            return lines(
                plain("No tunes yet."),
                plain(""),
                joined("Press ", ("n", accent), " to put in the first one: a name is enough."),
                joined("Press ", ("i", accent), " to bring in a tune book."),
            )
        words = self.shown.words.strip()
        only = " and ".join(word.value for word in (self.shown.state, self.shown.status) if word)
        what = "No tune here" + (f" is {only}" if only else "")
        if words:
            what += f"{' and' if only else ''} has “{words}” in a title"
        return lines(
            plain(what + "."),
            plain(""),
            joined("Press ", ("escape", accent), " to see all of them again."),
        )

    def _change(self, shown: Shown) -> None:
        self.shown = shown
        self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action == "look":
            return bool(self._all) and not self.query_one(WordsLine).display
        if action in {"open_tune", "check", "edit"}:
            return self.tunes.current is not None
        if action in {"sort", "turn_round", "state", "status"}:
            return bool(self._all)
        return super().check_action(action, parameters)

    # Keys.

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed in one go with the key that opens the line.

        Bindings are looked up a moment later than this, in the app.
        """
        if self.query_one(WordsLine).display:
            self.query_one(LineInput).take(event)
        elif event.key == "slash" and self._all:
            self.action_look()
            event.stop()

    def action_look(self) -> None:
        """Open the line to type in."""
        self.query_one(WordsLine).display = True
        self.set_focus(self.query_one(LineInput))
        self.refresh_bindings()

    def _stop_looking(self) -> None:
        self.tunes.focus()
        self.query_one(WordsLine).display = False
        line = self.query_one(LineInput)
        with line.prevent(LineInput.Changed):
            line.value = ""

    @on(LineInput.Changed)
    def _typed(self, event: LineInput.Changed) -> None:
        self._change(replace(self.shown, words=event.value))

    @on(LineInput.Moved)
    def _moved(self, event: LineInput.Moved) -> None:
        self.tunes.move(event.rows, event.pages)

    @on(LineInput.Submitted)
    @on(RowList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.tunes.current
        if row is not None:
            self.tune_app.open_tune(row.tune.uuid)

    def action_add(self) -> None:
        """Open an empty form; the new tune is where the cursor is afterwards."""
        self.tune_app.open_screen("edit", self._added, uuid=None)

    def _added(self, uuid: object) -> None:
        if isinstance(uuid, str):
            self.shown = Shown(order=self.shown.order)
            self._stop_looking()
            self._all = tune_rows(self.session)
            self._show(uuid)

    def action_edit(self) -> None:
        """Open the form of the tune under the cursor."""
        row = self.tunes.current
        if row is not None:
            self.tune_app.open_screen("edit", uuid=row.tune.uuid)

    def action_check(self) -> None:
        """Ask for the tune under the cursor."""
        row = self.tunes.current
        if row is not None:
            self.ask_for(row.tune.uuid)

    def action_sort(self) -> None:
        """Sort by the next thing."""
        self._change(self.shown.next_order())

    def action_turn_round(self) -> None:
        """Sort the other way."""
        self._change(replace(self.shown, backwards=not self.shown.backwards))

    def action_state(self) -> None:
        """Narrow to the next state."""
        self._change(self.shown.next_state())

    def action_status(self) -> None:
        """Narrow to the next status."""
        self._change(self.shown.next_status())

    def action_back(self) -> None:
        """Show everything again, or leave when everything is shown."""
        if self.query_one(WordsLine).display or self.shown.narrowed:
            self._stop_looking()
            self._change(Shown(order=self.shown.order, backwards=self.shown.backwards))
        else:
            self.dismiss(None)
