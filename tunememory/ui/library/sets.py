"""Tunes played in a row: the list of them."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.library.sets import SetView, all_sets, remove_set, save_set, set_view
from tunememory.recall.check import START_WORDS
from tunememory.recall.state import in_ten
from tunememory.rounds.planning import plan_set
from tunememory.ui.actions import SET, bind
from tunememory.ui.canvas import space_of
from tunememory.ui.questions import AskLine, PickScreen, confirm
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import cell, plain, say, width_of
from tunememory.ui.widgets import RowList
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.library.sets import JoinView, SetTune
    from tunememory.recall.check import Level
    from tunememory.ui.text import Span


class SetRow(NamedTuple):
    """A line of a set's page: a tune, or the join after it.

    Attributes:
        place: Of the tune in the set; of a join that of the tune before it.
        tune: The tune, ``None`` for a join.
        join: The join, ``None`` for a tune.
    """

    place: int
    tune: SetTune | None = None
    join: JoinView | None = None


def set_rows(view: SetView) -> tuple[SetRow, ...]:
    """Return tunes and joins in turn."""
    rows: list[SetRow] = []
    for place, tune in enumerate(view.tunes):
        rows.append(SetRow(place, tune=tune))
        if place < len(view.joins):
            rows.append(SetRow(place, join=view.joins[place]))
    return tuple(rows)


def set_spans(view: SetView, width: int) -> list[Span]:
    """Write a set in one line: its name, how many tunes, ready or what holds it back."""
    number = counted(len(view.tunes), "tune")
    words = max(10, min(40, width * 9 // 20))
    said = "ready" if view.ready else f"not yet: {view.weakest}"
    if width_of(said) >= words:
        said = view.weakest
    name = max(8, width - words - 9)
    return [
        (cell(view.name, name), ""),
        (cell(f" {number}", 9), "quiet"),
        (cell(f" {said}", words), "strong" if view.ready else space_of(view.chance)),
    ]


def set_row_spans(row: SetRow, today: date, width: int) -> list[Span]:
    """Write a tune or a join of a set; a join with how it came last."""
    words = 15
    if row.tune is not None:
        tune = row.tune
        title = max(8, width - words - 4 - 7)
        return [
            (f"{row.place + 1:>2}  ", "quiet"),
            (cell(tune.title, title), "strong"),
            (cell(f" {tune.key}", 7), "quiet"),
            (cell(f" {in_ten(tune.chance)}", words), space_of(tune.chance)),
        ]
    if row.join is None:
        return []
    chance = row.join.chance
    said = "not asked yet" if chance is None else in_ten(chance)
    room = max(8, width - words - 4)
    asked = row.join.asked
    into = f"│ and on into · {came_words(asked[:1], today)}" if asked else "│ and on into"
    return [
        ("    ", ""),
        (cell(into, room), "staff"),
        (cell(f" {said}", words), "quiet" if chance is None else space_of(chance)),
    ]


def came_words(asked: Sequence[tuple[date, Level]], today: date) -> str:
    """Say when a join was asked and how it came, newest first."""
    return "; ".join(f"{ago(day, today)}: {START_WORDS[level]}" for day, level in asked)


def join_words(join: JoinView, today: date) -> str:
    """Say how a join came at its last checks."""
    if not join.asked:
        return f"{join.first} into {join.second}: not asked yet; rounds ask it like a start."
    return f"{join.first} into {join.second}. {came_words(join.asked, today).capitalize()}."


def standing_words(view: SetView) -> str:
    """Say how a set stands: as well as its weakest tune or join."""
    if view.ready:
        return "Ready: every tune and every join would come."
    return f"Not yet. What holds it back: {view.weakest}."


NONE = "None yet. Press n and pick tunes in the order they are played. The joins between them are "


class SetsScreen(SessionScreen[None]):
    """The sets (or medleys, as the player says)."""

    CSS = """
    SetsScreen RowList { padding-top: 1; }
    SetsScreen.-short RowList { padding: 0; }
    SetsScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_set", "open", "Open this one: its tunes and joins"),
        bind("n,a", "add", "new", "Put tunes in a row"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]

    def body(self) -> ComposeResult:
        """The list."""
        yield RowList(set_spans)
        yield Static(plain(f"{NONE}asked in rounds, like starts."), id="none")

    def fill(self) -> None:
        """Show the sets, the cursor where it was."""
        views = all_sets(self.session)
        rows = self.query_one(RowList)
        rows.show(views, rows.cursor)
        rows.display = bool(views)
        self.query_one("#none").display = not views
        rows.focus()
        word = self.session.settings.set_word
        self.head(left=f"{word.capitalize()}s", right=counted(len(views), word) if views else "")
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done."""
        if action == "open_set":
            return bool(self.query_one(RowList).rows)
        return super().check_action(action, parameters)

    @on(RowList.Chosen)
    def action_open_set(self) -> None:
        """Open the one under the cursor."""
        view = self.query_one(RowList).current
        if view is not None:
            self.tune_app.open_screen("set", uuid=view.uuid)

    def action_add(self) -> None:
        """Pick the tunes, then a name or none."""
        self.app.push_screen(PickScreen("Which tunes, in which order?", many=True), self._picked)

    def _picked(self, tunes: tuple[str, ...] | None) -> None:
        if not tunes:
            return
        word = self.session.settings.set_word
        if len(tunes) < 2:
            say(self.tune_app, f"a {word} has two tunes or more", "error")
            return
        keep = partial(self._keep, tunes)
        self.app.push_screen(AskLine("What do you call it?", keep, hint="empty: by its tunes"))

    def _keep(self, tunes: tuple[str, ...], name: str) -> None:
        save_set(self.session, name, tunes)
        self.call_after_refresh(self.refill)


class SetPage(SessionScreen[None]):
    """The page of one set.

    Args:
        uuid: Identity of the set.
    """

    CSS = """
    SetPage #stands { height: auto; padding: 1 2; }
    SetPage.-short #stands { padding: 0 2 1 2; }
    SetPage #about { height: 3; padding: 0 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("c", "check", "ask it",
             f"Ask for this {SET}: its first tune, then what comes after each"),
        bind("u,shift+up", "shift(-1)", "earlier", "Play this tune earlier", key="u"),
        bind("d,shift+down", "shift(1)", "later", "Play this tune later", key="d"),
        bind("t", "tunes", "tunes", "Pick the tunes anew"),
        bind("r", "rename", "name", "Give it another name"),
        bind("x", "remove", "remove", "Take it apart; its tunes stay"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]  # fmt: skip

    def __init__(self, uuid: str) -> None:
        super().__init__()
        self.uuid = uuid
        self._view: SetView | None = None
        self._gone = False

    def body(self) -> ComposeResult:
        """How it stands, its tunes and joins, and how the join under the cursor came."""
        yield Static(id="stands")
        yield RowList(self._write)
        yield Static(id="about")

    def fill(self) -> None:
        """Write the page anew, the cursor on the row it was on."""
        if self._gone:
            return
        try:
            self._view = view = set_view(self.session, self.uuid)
        except NotDoneError as error:
            say(self.tune_app, str(error), "error")
            self._close()
            return
        self.head(left=view.name, right="ready" if view.ready else "not yet")
        self.query_one("#stands", Static).update(plain(standing_words(view)))
        rows = self.query_one(RowList)
        rows.show(set_rows(view), rows.cursor)
        rows.focus()
        self._moved()

    def _write(self, row: SetRow, width: int) -> list[Span]:
        return set_row_spans(row, self.session.day(), width)

    @property
    def _here(self) -> SetRow | None:
        return self.query_one(RowList).current

    @on(RowList.Highlighted)
    def _moved(self) -> None:
        join = self._here.join if self._here else None
        said = join_words(join, self.session.day()) if join else ""
        self.query_one("#about", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A join is moved by moving its tunes."""
        if action in {"open_tune", "shift"}:
            return self._here is not None and self._here.tune is not None
        return super().check_action(action, parameters)

    @on(RowList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        if self._here is not None and self._here.tune is not None:
            self.tune_app.open_tune(self._here.tune.tune)

    def action_check(self) -> None:
        """Ask for the first tune and every join, in a loose round."""
        with self.trying():
            self.begin_round(plan_set(self.session, self.uuid))

    def action_shift(self, places: int) -> None:
        """Move the tune under the cursor; the cursor goes with it."""
        here, view = self._here, self._view
        if here is None or view is None:
            return
        tunes = [tune.tune for tune in view.tunes]
        to = here.place + places
        if 0 <= to < len(tunes):
            tunes.insert(to, tunes.pop(here.place))
            rows = self.query_one(RowList)
            rows.set_reactive(RowList.cursor, 2 * to)
            self._keep(tunes)

    def _keep(self, tunes: Sequence[str], name: str | None = None) -> None:
        with self.trying():
            kept = self.session.sets[self.uuid].name if name is None else name
            save_set(self.session, kept, tunes, self.uuid)
            self.refill()

    def action_tunes(self) -> None:
        """Pick the tunes anew."""
        if self._view is not None:
            picked = [tune.tune for tune in self._view.tunes]
            ask = PickScreen("Which tunes, in which order?", picked, many=True)
            self.app.push_screen(ask, self._picked)

    def _picked(self, tunes: tuple[str, ...] | None) -> None:
        if tunes is not None:
            self._keep(tunes)

    def action_rename(self) -> None:
        """Ask for a name."""
        given = self.session.sets[self.uuid].name
        self.app.push_screen(
            AskLine("What do you call it?", self._rename, given, "empty: by its tunes")
        )

    def _rename(self, name: str) -> None:
        if self._view is not None:
            self._keep([tune.tune for tune in self._view.tunes], name)

    def action_remove(self) -> None:
        """Ask, then take it apart."""
        if self._view is not None:
            question = f"Take “{self._view.name}” apart?"
            confirm(self, question, ("take it apart", "leave it"), self._remove)

    def _remove(self) -> None:
        remove_set(self.session, self.uuid)
        self._close()

    def _close(self) -> None:
        self._gone = True
        self.dismiss(None)
