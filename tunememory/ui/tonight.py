"""Tonight: what shall I start, what have I in A, one sure starter a key."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.widgets import Static

from tunememory.dates.tonight import one_for_each_key, tunes_in_key, what_to_start
from tunememory.ui.actions import bind
from tunememory.ui.canvas import space_of
from tunememory.ui.dates import ROOMY
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import cell, plain
from tunememory.ui.widgets import RowList
from tunememory.words import ago

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.dates.tonight import Starter
    from tunememory.ui.text import Span


NOTHING = "Nothing of yours would start just now in this tuning."
NO_KEY = "Press a letter, a to g: what have I in that key?"


class TonightRow(NamedTuple):
    """A tune to start, a heading, or a key that has none."""

    head: str
    starter: Starter | None = None


def in_key_rows(
    groups: Iterable[tuple[str, list[Starter]]],
) -> tuple[TonightRow, ...]:
    """Return what there is in a key, the tunings as headings."""
    return tuple(
        row
        for letters, starters in groups
        for row in (TonightRow(letters), *(TonightRow("", one) for one in starters))
    )


def tonight_spans(row: TonightRow, width: int) -> list[Span]:
    """Write a tune to start: a full note is a sure one, ``lately`` was played there lately.

    Args:
        row: The tune, or a heading.
        width: Cells across.
    """
    one = row.starter
    label = cell(row.head, 4) if row.head and one is not None else ""
    if one is None:
        return [(cell(row.head, width), "strong")]
    facts = " ".join(filter(None, (one.tune.key_short, one.tune.kind)))
    lately = " lately" if one.lately else ""
    notes = 26 if width >= ROOMY else 0
    title = max(8, width - len(label) - 2 - 16 - notes - len(lately))
    return [
        (label, "bright"),
        ("● " if one.sure else "○ ", space_of(one.chance)),
        (cell(one.tune.title, title), "quiet" if one.lately else ""),
        (lately, "quiet"),
        (cell(f" {facts}", 16), "quiet"),
        (cell(f" {one.first}", notes), ""),
    ]


def about_words(one: Starter, today: date) -> str:
    """Say the rest of a tune to start in one line."""
    here = f"played there {ago(one.played_here, today)}" if one.played_here else ""
    first = f"begins {one.first}" if one.first else "no start written down"
    sure = "" if one.sure else "not sure"
    return " · ".join(filter(None, (one.tuning, first, here, sure)))


class TonightScreen(SessionScreen[None]):
    """Answers to a mind gone blank.

    Args:
        at: The date whose place counts; empty is the nearest.
    """

    HEAD = "What shall I start?"
    CSS = """
    TonightScreen RowList { padding-top: 1; }
    TonightScreen.-short RowList { padding: 0; }
    TonightScreen #about { height: 2; padding: 0 2; color: $quiet; }
    TonightScreen #none { display: none; height: 1fr; padding: 1 2; color: $quiet; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("enter", "open_tune", "open", "Open the page of this tune"),
        bind("s", "start", "start", "What shall I start? Sure ones, not played there lately"),
        bind("o", "one", "one a key", "One sure starter for each key"),
        *(bind(letter, f"in_key('{letter.upper()}')", "in A …" if letter == "a" else "",
               "What have I in this key", key="a–g", shown=letter == "a") for letter in "abcdefg"),
        bind("number_sign,plus", "bend('#')", "", "The same key sharp", key="#", shown=False),
        bind("minus", "bend('b')", "", "The same key flat", key="-", shown=False),
        bind("p", "app.open('card')", "card", "Go to the card for the case"),
        bind("escape,q", "dismiss", "back", "Go back", key="esc"),
    ]  # fmt: skip

    def __init__(self, at: str = "") -> None:
        super().__init__()
        self._at = at
        self._asked = "start"
        self._key = ""

    def body(self) -> ComposeResult:
        """The answers, and a line about the one under the cursor."""
        yield RowList(tonight_spans)
        yield Static(id="about")
        yield Static(plain(NOTHING), id="none")

    def fill(self) -> None:
        """Answer again: another window may have changed something."""
        self._show()
        self.query_one(RowList).focus()

    def _show(self) -> None:
        with self.trying():
            rows = self.query_one(RowList)
            rows.show(self._answers())
            rows.display = self.query_one("#about").display = bool(rows.rows)
            self.query_one("#none").display = not rows.rows
            none = f"Nothing of yours is in {self._key}." if self._asked == "key" else NOTHING
            self.query_one("#none", Static).update(plain(f"{none} {NO_KEY}"))
            self._about()

    def _answers(self) -> tuple[TonightRow, ...]:
        tuning = self.session.settings.standing.letters
        if self._asked == "key":
            self.head(f"What have I in {self._key}?", "all tunings")
            return in_key_rows(tunes_in_key(self.session, self._key))
        if self._asked == "one":
            self.head("One a key", tuning)
            found = one_for_each_key(self.session)
            return tuple(
                TonightRow(key, one) if one else TonightRow(f"{key:<4}no sure one")
                for key, one in found
            )
        self.head("What shall I start?", tuning)
        return tuple(TonightRow("", one) for one in what_to_start(self.session, at=self._at))

    @on(RowList.Highlighted)
    def _about(self) -> None:
        row = self.query_one(RowList).current
        said = about_words(row.starter, self.session.day()) if row and row.starter else NO_KEY
        self.query_one("#about", Static).update(plain(said))
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer only what can be done now."""
        if action == "open_tune":
            row = self.query_one(RowList).current
            return row is not None and row.starter is not None
        if action == "bend":
            return self._asked == "key"
        return super().check_action(action, parameters)

    def _ask(self, what: str) -> None:
        self._asked = what
        self._show()

    def action_start(self) -> None:
        """What shall I start?"""
        self._ask("start")

    def action_one(self) -> None:
        """One sure starter a key."""
        self._ask("one")

    def action_in_key(self, letter: str) -> None:
        """What have I in this key?"""
        self._key = letter
        self._ask("key")

    def action_bend(self, sign: str) -> None:
        """The same key sharp or flat, or plain again."""
        letter = self._key[0]
        self._key = letter if self._key == letter + sign else letter + sign
        self._ask("key")

    @on(RowList.Chosen)
    def action_open_tune(self) -> None:
        """Open the tune under the cursor."""
        row = self.query_one(RowList).current
        if row is not None and row.starter is not None:
            self.tune_app.open_tune(row.starter.tune.uuid)
