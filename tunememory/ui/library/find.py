"""Find a tune by a few letters of a name, or by its first notes in any key."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft, preview_start
from tunememory.library.searching import glance_at, tunes_beginning, tunes_named
from tunememory.music.forms import first_notes
from tunememory.music.likeness import parting
from tunememory.music.tune import Declared, Status
from tunememory.ui.actions import bind
from tunememory.ui.screen import SessionScreen
from tunememory.ui.text import cell, lines, plain, width_of
from tunememory.ui.widgets import LineInput, Lines, RowList, WordsLine
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from datetime import date

    from textual import events
    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tunememory.library.overview import TuneRow
    from tunememory.library.searching import Glance
    from tunememory.music.finding import Found as FoundStart
    from tunememory.music.tune import Tune
    from tunememory.ui.text import Span


_ROOMY = 72
"""Cells from which it is said when a tune was met."""


@dataclass(frozen=True, slots=True)
class Found:
    """One answer.

    Attributes:
        title: What is written.
        why: What of it answers: ``"name"``, ``"A start, exactly"``.
        facts: Kind and key.
        tune: Identity of the tune; empty for an offer.
        part: The part that answers; empty for a name.
        draft: What an offer puts into the form of a new tune.
    """

    title: str
    why: str
    facts: str = ""
    tune: str = ""
    part: str = ""
    draft: Draft | None = None


def by_name(row: TuneRow) -> Found:
    """Return a tune found by its name."""
    return Found(row.tune.title, "name", row.tune.facts, row.tune.uuid)


def by_notes(start: FoundStart, tune: Tune) -> Found:
    """Return a tune found by the notes of a start."""
    slips = round(start.distance)
    near = "exactly" if start.distance == 0 else "nearly"
    if slips:
        near = f"{counted(slips, 'note')} off"
    return Found(tune.title, f"{start.part} start, {near}", tune.facts, tune.uuid, start.part)


def glance_lines(glance: Glance, today: date, width: int) -> list[list[Span]]:
    """Say on two lines what is needed at once: key, tuning, first notes; then the twins.

    Args:
        glance: What is known of the tune.
        today: The present practice day.
        width: Cells across.
    """
    notes = first_notes(glance.tune, glance.part)
    facts = [glance.tune.key_name or "key not known", glance.tuning]
    if width >= _ROOMY:
        # In a narrow window the first notes are more use than when it was met.
        facts.append(f"met {ago(glance.met, today)}" if glance.met else "not met yet")
    facts.append(f"{glance.part} start:" if notes else "no start written down")
    said = " · ".join(facts)
    spans: list[Span] = [(said, "quiet")]
    if notes:
        spans.append((f" {cell(notes, width - width_of(said) - 1).rstrip()}", ""))
    twins = "; ".join(f"{twin.title}: {parting(twin.parts_at)}" for twin in glance.twins)
    warning = cell(f"Don't mix with {twins}", width).rstrip() if twins else ""
    return [spans, [(warning, "quiet")]]


def found_spans(row: Found, width: int) -> list[Span]:
    """Write one answer in ``width`` cells."""
    if row.draft is not None:
        return [("+ ", "accent"), (cell(row.title, width - 2), "")]
    why = 20 if width >= 44 else 0
    facts = 18 if width >= 68 else 0
    spans: list[Span] = [(cell(row.title, width - why - facts), "")]
    if facts:
        spans.append((" " + cell(row.facts, facts - 1), "quiet"))
    if why:
        spans.append((" " + cell(row.why, why - 1), "quiet"))
    return spans


LEAST_NOTES = 4
"""Notes from which a search by notes begins; six give a short list, eight usually one tune."""

LEAST_LETTERS = 2
"""Letters of a name from which a search by name begins."""

MOST_FOUND = 60
"""Answers shown; more than that is no answer."""

HELP = (
    "Type a few letters of any word of a name: the list follows.",
    "",
    "Or type the first notes, four or more, in any key:",
    "   letters        e d c e e",
    "   scale steps    5 4 3 5 5",
    "   fingers        E0 A3 A2 E0 E0",
    "One wrong note is forgiven.",
)


class FindScreen(SessionScreen[None]):
    """One line to type in, and what answers to it."""

    HEAD = "Find"
    CSS = """
    FindScreen #said { height: auto; min-height: 1; padding: 0 2 0 4; color: $quiet; }
    FindScreen #about { height: 2; padding: 0 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("escape", "dismiss", "back", "Go back"),
    ]

    def body(self) -> ComposeResult:
        """The line, what is said about it, the answers."""
        yield WordsLine(LineInput("letters of a name, or notes"))
        yield Static(id="said")
        yield RowList(found_spans)
        yield Lines(id="about")

    def fill(self) -> None:
        """Look again: the repertoire may have changed meanwhile."""
        self.head(right="by name or by notes")
        field = self.query_one(LineInput)
        field.focus()
        self._look(field.value)

    def on_key(self, event: events.Key) -> None:
        """Lose no letter typed before the line had the focus."""
        self.query_one(LineInput).take(event)

    @on(LineInput.Changed)
    def _typed(self, event: LineInput.Changed) -> None:
        self._look(event.value)

    @on(LineInput.Moved)
    def _moved(self, event: LineInput.Moved) -> None:
        self.query_one(RowList).move(event.rows, event.pages)

    def _look(self, text: str) -> None:
        found, said = self._search(text.strip())
        answers = self.query_one(RowList)
        answers.show(tuple(found))
        answers.display = bool(found)
        self.query_one("#said", Static).update(lines(*(plain(row) for row in said)))

        self._about()

    @on(RowList.Highlighted)
    def _about(self) -> None:
        """Give key, first notes and twins of the tune the cursor is on, without opening it."""
        about = self.query_one("#about", Lines)
        answer = self.query_one(RowList).current
        about.display = answer is not None and bool(answer.tune)
        if answer is not None and answer.tune:
            with self.trying():
                glance = glance_at(self.session, answer.tune, answer.part)
                today = self.session.day()
                about.show(lambda width: glance_lines(glance, today, width))

    def _search(self, text: str) -> tuple[list[Found], tuple[str, ...]]:
        """Return the answers to ``text`` and what to say above them."""
        if not text:
            return [], HELP if self.session.tunes else (*HELP, "", "There are no tunes yet.")
        read, notes = self._notes(text)
        names: list[Found] = []
        if any(len(word) >= LEAST_LETTERS for word in re.findall(r"[^\W\d_]+", text)):
            names = [by_name(row) for row in tunes_named(self.session, text)[:MOST_FOUND]]
        tunes: list[Found] = []
        why = ""
        if notes >= LEAST_NOTES:
            try:
                tunes = [
                    by_notes(found, self.session.tune(found.tune))
                    for found in tunes_beginning(self.session, text)[:MOST_FOUND]
                ]
            except NotDoneError as error:
                why = str(error)
        found = [*names, *tunes]
        if notes >= LEAST_NOTES and not tunes:
            found.append(
                Found("Keep these notes as a tune with no name yet", "", draft=_nameless(text))
            )
        elif not found and notes == 0:
            found.append(Found(f"Put in a new tune called {text}", "", draft=Draft(titles=(text,))))
        if notes and notes < LEAST_NOTES and not names:
            return found, (f"{read}   {LEAST_NOTES - notes} more to look by notes",)
        if notes >= LEAST_NOTES and not tunes:
            return found, (read, why or "No start of yours goes like that, in any key.")
        if not names and not tunes:
            return found, ("No tune of yours has that in a title.",)
        return found, (read,)

    def _notes(self, text: str) -> tuple[str, int]:
        """Return how ``text`` is read as notes, and how many there are."""
        # Scale steps need some key to be read; finding goes by the steps between notes. A sharp
        # typed as "f#" is no ABC, but it is plain what is meant.
        for typed, key in ((text, ""), (text, "C"), (f"letters: {text}", "C")):
            try:
                view = preview_start(self.session, typed, Draft(key=key))
            except NotDoneError:
                continue
            return "notes: " + " ".join(view.letters), len(view.letters)
        return "", 0

    @on(LineInput.Submitted)
    @on(RowList.Chosen)
    def _choose(self) -> None:
        """Open the tune the cursor is on, or put in what it offers."""
        answer = self.query_one(RowList).current
        if answer is None:
            return
        if answer.draft is not None:
            self.tune_app.open_screen("edit", self._kept, draft=answer.draft)
        else:
            self.tune_app.open_tune(answer.tune)

    def _kept(self, uuid: object) -> None:
        if isinstance(uuid, str):
            self.query_one(LineInput).value = ""


def _nameless(text: str) -> Draft:
    """A tune heard and not known: wanted, new, with the notes as its A start."""
    return Draft(status=Status.WANTED, declared=Declared.NEW, starts=(("A", text),))
