"""What stands on a card."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tunememory.tunes.fingering import COMMON_BAR
from tunememory.tunes.instruments import FIDDLE, Instrument, on_strings, strings_for
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.parting import parting
from tunememory.tunes.shown import bar_starts, letters_of
from tunememory.tunes.text import fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.tune import Start, Tune
    from tunememory.tunes.tuning import Tuning

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
        on_strings(
            start.notes,
            tuning,
            bar_quarters(start.metre_in(tune.metre)) or COMMON_BAR,
            instrument,
        )
        for start in tune.starts
    ]
    return [strings.names if strings else () for strings in lying]


def _entry(
    tune: Tune, alike: Sequence[Alike], fingers: Sequence[tuple[str, ...]], notes: int
) -> Entry:
    return Entry(
        title=tune.title,
        kind=tune.kind,
        key=tune.key.short if tune.key else "",
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
