"""The card for the case: tunes by tuning and key, with their starts, as text and for print."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from itertools import starmap, zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from tunememory.dates.agenda import dates_of
from tunememory.dates.recurrence import tunes_of
from tunememory.errors import NotDoneError
from tunememory.library import twins
from tunememory.library.exporting import write_form
from tunememory.library.overview import rows_of
from tunememory.library.sets import name_of
from tunememory.library.starts import start_view
from tunememory.music.fingering import FIDDLE, Instrument, strings_for
from tunememory.music.forms import aligned
from tunememory.music.likeness import parting
from tunememory.music.tune import Status
from tunememory.paper import Paper, page_html
from tunememory.recall.state import State
from tunememory.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from tunememory.library.starts import StartView
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Tune
    from tunememory.session import Session


NOTES = 8
"""Notes of each start: of 400 tunes, eight single out one in nine cases of ten (counted in 974
dance tunes of the Nottingham collection, transposition allowed)."""

NO_KEY = "key not known"


GOES_ON = "…"
WIDTH = 64
_INDENT = " " * 6


@dataclass(frozen=True, slots=True)
class Entry:
    """A tune on the card.

    Attributes:
        tune: The tune.
        starts: Those of its starts that are written down, fingered as a whole, so that the card
            shows what the tune's page shows.
        warnings: Which tunes it is not to be mixed with.
    """

    tune: Tune
    starts: tuple[StartView, ...]
    warnings: tuple[str, ...]

    @property
    def about(self) -> str:
        """Its kind and key."""
        return ", ".join(filter(None, (self.tune.kind, self.tune.key_short)))


@dataclass(frozen=True, slots=True)
class Card:
    """A card.

    Attributes:
        heading: What it is for.
        pages: Tunes by title, under their root, under their tuning: the usual tuning first, its
            letters with the nickname where it has one.
        notes: Notes of each start at most.
    """

    heading: str
    pages: dict[str, dict[str, list[Entry]]]
    notes: int = NOTES


def make_card(
    tunes: Iterable[Tune],
    usual: Tuning,
    heading: str,
    alike: Mapping[str, Iterable[tuple[str, int]]] | None = None,
    notes: int = NOTES,
    instrument: Instrument = FIDDLE,
) -> Card:
    """Return a card of tunes, ordered by tuning, root and title.

    Args:
        tunes: What is to stand on it.
        usual: Tuning of tunes that name none; it comes first.
        heading: What the card is for.
        alike: For each tune titles of those that begin like it, with the number of the note
            where they part (0 where they do not as far as written); warned of whether they are
            on the card or not.
        notes: Notes of each start at most.
        instrument: What the starts are fingered for.
    """
    placed: dict[Tuning, dict[int, list[Tune]]] = {}
    for tune in tunes:
        root = tune.key.root_class if tune.key else -1
        placed.setdefault(tune.tuning or usual, {}).setdefault(root, []).append(tune)
    pages: dict[str, dict[str, list[Entry]]] = {}
    for tuning in sorted(placed, key=lambda one: (one != usual, one.letters)):
        page = pages[" ".join(filter(None, (tuning.letters, tuning.nickname)))] = {}
        strings = strings_for(tuning, usual)
        for root in sorted(placed[tuning], key=_root_place):
            some = sorted(placed[tuning][root], key=lambda t: (fold_title(t.title), t.uuid))
            page[_root_name(some)] = [
                Entry(
                    tune,
                    tuple(
                        start_view(start, tune.key, tune.metre, strings, instrument)
                        for start in tune.starts
                        if start.notes
                    ),
                    tuple(starmap(_warning, (alike or {}).get(tune.uuid, ()))),
                )
                for tune in some
            ]
    return Card(heading, pages, notes)


def _root_place(root: int) -> int:
    """A first, as in a list of names; tunes without a key last."""
    return (root - 9) % 12 if root >= 0 else 12


def _root_name(tunes: Sequence[Tune]) -> str:
    names = sorted(tune.key.root for tune in tunes if tune.key)
    return max(names, key=names.count) if names else NO_KEY


def _warning(title: str, parts_at: int) -> str:
    return f"do not mix with {title}" + (f": {parting(parts_at)}" if parts_at else "")


def _first(start: StartView, notes: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Letters and fingers of the first notes of a start, with a sign where more are known."""
    goes_on = len(start.letters) > notes
    return (
        start.letters[:notes] + (GOES_ON,) * goes_on,
        start.fingers[:notes] + ("",) * (goes_on and bool(start.fingers)),
    )


def card_text(card: Card, width: int = WIDTH) -> str:
    """Return a card as text, ending in a line end.

    Args:
        card: The card.
        width: Characters in a line, where words and notes allow it.
    """
    return "\n".join(_lines(card, width)) + "\n"


def _lines(card: Card, width: int) -> Iterator[str]:
    yield from wrap(card.heading, width)
    for tuning, sections in card.pages.items():
        yield from ("", tuning, "=" * len(tuning))
        for root, entries in sections.items():
            yield from ("", f"  {root}", f"  {'-' * len(root)}")
            for entry in entries:
                yield from _entry_text(entry, card.notes, width)


def _entry_text(entry: Entry, notes: int, width: int) -> Iterator[str]:
    title = entry.tune.title
    name = f"{title} ({entry.about})" if entry.about else title
    yield from wrap(name, width, initial_indent="  ", subsequent_indent="    ")
    for start in entry.starts:
        letters, fingers = _first(start, notes)
        rows = {"letters": letters, "fingers": fingers}
        bars = [bar for bar in start.bars if bar < notes]
        for number, (_, line) in enumerate(aligned(rows, bars, width - len(_INDENT))):
            yield f"  {'' if number else start.part:>2}  {line}".rstrip()
    for warning in entry.warnings:
        yield from wrap(
            f"! {warning}", width, initial_indent=_INDENT, subsequent_indent=_INDENT + "  "
        )


def card_html(card: Card, paper: Paper = Paper.A6) -> str:
    """Return a card as one HTML page that needs no other file.

    Args:
        card: The card.
        paper: Size it is printed on; a tune is not parted between two sheets.
    """
    return page_html(card.heading, _body(card), paper)


def _body(card: Card) -> Iterator[str]:
    for tuning, sections in card.pages.items():
        yield f"<h2>{escape(tuning)}</h2>"
        for root, entries in sections.items():
            yield f"<h3>{escape(root)}</h3>"
            for entry in entries:
                yield from _entry_html(entry, card.notes)


def _entry_html(entry: Entry, notes: int) -> Iterator[str]:
    rest = f" <span>{escape(entry.about)}</span>" if entry.about else ""
    yield '<section class="tune">'
    yield f'<p class="name">{escape(entry.tune.title)}{rest}</p>'
    for start in entry.starts:
        shown = "".join(_notes_html(start, notes))
        yield f'<div class="start"><b>{escape(start.part)}</b>{shown}</div>'
    for warning in entry.warnings:
        yield f'<p class="warn">{escape(warning)}</p>'
    yield "</section>"


def _notes_html(start: StartView, notes: int) -> Iterator[str]:
    for number, (letter, finger) in enumerate(zip_longest(*_first(start, notes), fillvalue="")):
        bar = ' class="bar"' if number in start.bars and number < notes else ""
        below = f"<i>{escape(finger)}</i>" if finger else ""
        yield f"<span{bar}>{escape(letter)}{below}</span>"


def write_card(card: Card, path: Path, paper: Paper = Paper.A6) -> None:
    """Write a card to a file: ``.html`` for the printer, ``.txt`` as it is.

    Raises:
        NotDoneError: The name of the file says neither, or it cannot be written.
    """
    write_form(path, {".html": lambda: card_html(card, paper), ".txt": lambda: card_text(card)})


def card_for(session: Session, what: str = "") -> Card:
    """Return a card.

    Args:
        session: The open repertoire.
        what: Name of a date, of a set, a status (``"learning"``) or a state (``"safe"``); empty
            for all kept tunes and those in learning.

    Raises:
        NotDoneError: Nothing goes by that name, several things do, or there is no tune to show.
    """
    heading, uuids = _meant(session, clean_text(what))
    return card_of(session, heading, uuids)


def card_of(session: Session, heading: str, uuids: Sequence[str]) -> Card:
    """Return a card of some tunes.

    Raises:
        NotDoneError: There is no tune to show, or one is gone.
    """
    if not uuids:
        raise NotDoneError(f"{heading}: there is no tune to put on the card")
    if not session.repertoire.readonly:
        twins.ensure(session, uuids)
    alike = {
        uuid: [(twin.title, twin.parts_at) for twin in twins.twins_of(session, uuid)]
        for uuid in uuids
    }
    tunes = [session.tune(uuid) for uuid in dict.fromkeys(uuids)]
    return make_card(tunes, session.settings.usual, heading, alike, instrument=session.settings.on)


def _meant(session: Session, what: str) -> tuple[str, list[str]]:
    """Heading and tunes of what is meant."""
    active = [tune.uuid for tune in session.active()]
    if not what:
        return "My tunes", active
    word = what.casefold()
    if word in set(Status):
        return f"Tunes {word}", [t.uuid for t in session.tunes.values() if t.status == word]
    if word in set(State):
        rows = rows_of(session, active)
        return f"Tunes {word}", [row.tune.uuid for row in rows if row.chance.state == word]
    named = _named(session, what)
    if not named:
        raise NotDoneError(
            f"“{what}” is no date and no {session.settings.set_word}; it can also be "
            f"{', '.join((*Status, *State))}"
        )
    if len(named) > 1:
        raise NotDoneError(f"“{what}” could be {'; '.join(name for name, _ in named)}")
    return named[0]


def _named(session: Session, what: str) -> list[tuple[str, list[str]]]:
    """Dates and sets by their whole name, or else by the beginning of a word of it."""
    found = [
        *(
            (dated.title, list(tunes_of(dated, session.sets)))
            for dated in dates_of(session).values()
        ),
        *((name_of(session, one), list(one.tunes)) for one in session.sets.values()),
    ]
    wanted = fold_title(what)
    whole = [(name, tunes) for name, tunes in found if fold_title(name) == wanted]
    some = whole or [
        (name, tunes) for name, tunes in found if f" {wanted}" in f" {fold_title(name)}"
    ]
    return [(name, [uuid for uuid in tunes if uuid in session.tunes]) for name, tunes in some]
