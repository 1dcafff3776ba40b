"""What stands on a card."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from textwrap import wrap
from typing import TYPE_CHECKING

from tunememory.dates.agenda import dates_of
from tunememory.dates.recurrence import tunes_of
from tunememory.errors import NotDoneError
from tunememory.library import twins
from tunememory.library.overview import rows_of
from tunememory.library.sets import name_of
from tunememory.music.fingering import FIDDLE, Instrument, on_strings, strings_for
from tunememory.music.forms import aligned, bar_starts, letters_of
from tunememory.music.likeness import parting
from tunememory.music.tune import Status
from tunememory.paper import Paper, page_html
from tunememory.recall.state import State
from tunememory.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from tunememory.music.key import Key
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Start, Tune
    from tunememory.session import Session


NOTES = 8
"""Notes of each start: of 400 tunes, eight single out one in nine cases of ten (counted in 974
dance tunes of the Nottingham collection, transposition allowed)."""

NO_KEY = "key not known"


@dataclass(frozen=True, slots=True)
class Alike:
    """A tune that begins like another.

    Attributes:
        title: Its title.
        parts_at: Number of the note where they part, 0 where they do not as far as written.
    """

    title: str
    parts_at: int

    @property
    def warning(self) -> str:
        """The line on the card."""
        if not self.parts_at:
            return f"do not mix with {self.title}"
        return f"do not mix with {self.title}: {parting(self.parts_at)}"


@dataclass(frozen=True, slots=True)
class CardStart:
    """The first notes of a part, note by note.

    Attributes:
        part: Part letter.
        letters: ABC letters.
        fingers: String and finger, or string and fret; empty where there are no strings.
        bars: Numbers of notes that a bar line stands before.
        goes_on: Whether more notes are known.
    """

    part: str
    letters: tuple[str, ...]
    fingers: tuple[str, ...]
    bars: tuple[int, ...]
    goes_on: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """A tune on the card."""

    title: str
    kind: str
    key: str
    starts: tuple[CardStart, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """Tunes of one root in one tuning, by title."""

    root: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """All that is played in one tuning.

    Attributes:
        tuning: Its letters, with the nickname where it has one.
        sections: By root.
    """

    tuning: str
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A card.

    Attributes:
        heading: What it is for.
        pages: The usual tuning first.
    """

    heading: str
    pages: tuple[Page, ...] = field(default=())


def make_card(
    tunes: Iterable[Tune],
    usual: Tuning,
    heading: str,
    alike: Mapping[str, Sequence[Alike]] | None = None,
    notes: int = NOTES,
    instrument: Instrument = FIDDLE,
) -> Card:
    """Return a card of tunes, ordered by tuning, root and title.

    Args:
        tunes: What is to stand on it.
        usual: Tuning of tunes that name none; it comes first.
        heading: What the card is for.
        alike: For each tune those that begin like it; warned of whether they are on the card or
            not.
        notes: Notes of each start at most.
        instrument: What the starts are fingered for.
    """
    warned = alike or {}
    placed: dict[Tuning, dict[int, list[Tune]]] = {}
    for tune in tunes:
        root = tune.key.root_class if tune.key else -1
        placed.setdefault(tune.tuning or usual, {}).setdefault(root, []).append(tune)
    pages = []
    for tuning in sorted(placed, key=lambda one: (one != usual, one.letters)):
        roots = placed[tuning]
        sections = tuple(
            Section(
                _root_name(roots[root]),
                tuple(
                    _entry(
                        tune,
                        warned.get(tune.uuid, ()),
                        _fingers_on(tune, strings_for(tuning, usual), instrument),
                        notes,
                    )
                    for tune in sorted(roots[root], key=lambda t: (fold_title(t.title), t.uuid))
                ),
            )
            for root in sorted(roots, key=_root_place)
        )
        pages.append(Page(" ".join(filter(None, (tuning.letters, tuning.nickname))), sections))
    return Card(heading, tuple(pages))


def _root_place(root: int) -> int:
    """A first, as in a list of names; tunes without a key last."""
    return (root - 9) % 12 if root >= 0 else 12


def _root_name(tunes: Sequence[Tune]) -> str:
    names = sorted(tune.key.root for tune in tunes if tune.key)
    return max(names, key=names.count) if names else NO_KEY


def _fingers_on(tune: Tune, tuning: Tuning, instrument: Instrument) -> list[tuple[str, ...]]:
    """Fingers of each start, as a whole, so that the card shows what the tune's page shows."""
    lying = [
        on_strings(start.notes, tuning, start.metre_in(tune.metre), instrument)
        for start in tune.starts
    ]
    return [strings.names if strings else () for strings in lying]


def _entry(
    tune: Tune, alike: Sequence[Alike], fingers: Sequence[tuple[str, ...]], notes: int
) -> Entry:
    return Entry(
        title=tune.title,
        kind=tune.kind,
        key=tune.key_short,
        starts=tuple(
            _card_start(start, start.key or tune.key, start.metre_in(tune.metre), on, notes)
            for start, on in zip(tune.starts, fingers, strict=True)
            if start.notes
        ),
        warnings=tuple(one.warning for one in alike),
    )


def _card_start(
    start: Start, key: Key | None, metre: str, fingers: tuple[str, ...], notes: int
) -> CardStart:
    bars = bar_starts(start.notes, start.pickup, metre)
    return CardStart(
        start.part,
        letters_of(start.notes[:notes], key),
        fingers[:notes],
        tuple(bar for bar in bars if bar < notes),
        len(start.notes) > notes,
    )


WIDTH = 64
GOES_ON = "…"
_INDENT = " " * 6


def card_text(card: Card, width: int = WIDTH) -> str:
    """Return a card as text, ending in a line end.

    Args:
        card: The card.
        width: Characters in a line, where words and notes allow it.
    """
    return "\n".join(_lines(card, width)) + "\n"


def _lines(card: Card, width: int) -> Iterator[str]:
    yield from wrap(card.heading, width)
    for page in card.pages:
        yield ""
        yield page.tuning
        yield "=" * len(page.tuning)
        for section in page.sections:
            yield ""
            yield f"  {section.root}"
            yield f"  {'-' * len(section.root)}"
            for entry in section.entries:
                yield from _entry_text(entry, width)


def _entry_text(entry: Entry, width: int) -> Iterator[str]:
    about = ", ".join(filter(None, (entry.kind, entry.key)))
    name = f"{entry.title} ({about})" if about else entry.title
    yield from wrap(name, width, initial_indent="  ", subsequent_indent="    ")
    for start in entry.starts:
        yield from _start(start, width)
    for warning in entry.warnings:
        yield from wrap(
            f"! {warning}", width, initial_indent=_INDENT, subsequent_indent=_INDENT + "  "
        )


def _start(start: CardStart, width: int) -> Iterator[str]:
    letters = (*start.letters, GOES_ON) if start.goes_on else start.letters
    fingers = (*start.fingers, "") if start.fingers and start.goes_on else start.fingers
    rows = {"letters": letters, "fingers": fingers}
    for number, (_, line) in enumerate(aligned(rows, start.bars, width - len(_INDENT))):
        yield f"  {'' if number else start.part:>2}  {line}".rstrip()


def card_html(card: Card, paper: Paper = Paper.A6) -> str:
    """Return a card as one HTML page that needs no other file.

    Args:
        card: The card.
        paper: Size it is printed on; a tune is not parted between two sheets.
    """
    return page_html(card.heading, _body(card), paper)


def _body(card: Card) -> Iterator[str]:
    for page in card.pages:
        yield f"<h2>{escape(page.tuning)}</h2>"
        for section in page.sections:
            yield f"<h3>{escape(section.root)}</h3>"
            for entry in section.entries:
                yield from _entry_html(entry)


def _entry_html(entry: Entry) -> Iterator[str]:
    about = ", ".join(filter(None, (entry.kind, entry.key)))
    rest = f" <span>{escape(about)}</span>" if about else ""
    yield '<section class="tune">'
    yield f'<p class="name">{escape(entry.title)}{rest}</p>'
    for start in entry.starts:
        yield f'<div class="start"><b>{escape(start.part)}</b>{"".join(_notes(start))}</div>'
    for warning in entry.warnings:
        yield f'<p class="warn">{escape(warning)}</p>'
    yield "</section>"


def _notes(start: CardStart) -> Iterator[str]:
    for number, letter in enumerate(start.letters):
        bar = ' class="bar"' if number in start.bars else ""
        finger = f"<i>{escape(start.fingers[number])}</i>" if start.fingers else ""
        yield f"<span{bar}>{escape(letter)}{finger}</span>"
    if start.goes_on:
        yield f"<span>{GOES_ON}</span>"


PAPERS = tuple(paper.value for paper in Paper)
"""Sizes of paper a card can be printed on, the pocket size first."""


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
        uuid: [Alike(twin.title, twin.parts_at) for twin in twins.twins_of(session, uuid)]
        for uuid in uuids
    }
    tunes = [session.tune(uuid) for uuid in dict.fromkeys(uuids)]
    return make_card(tunes, session.settings.usual, heading, alike, instrument=session.settings.on)


def text_of(card: Card, width: int = WIDTH) -> str:
    """Return a card as plain text, so many characters wide."""
    return card_text(card, width)


def html_of(card: Card, paper: str = PAPERS[0]) -> str:
    """Return a card as one page for the printer, on paper of one of ``PAPERS``."""
    return card_html(card, Paper(paper))


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
