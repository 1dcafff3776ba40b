"""Sixteen old printed tunes in a real file (titles and keys: O'Neill's Music of Ireland, 1903).

How each went is invented; the starts are shortened freely.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import cycle
from typing import TYPE_CHECKING

from tunememory.clock import fixed_clock
from tunememory.library.adding import Draft, add_tunes, tune_of
from tunememory.library.starts import start_views
from tunememory.library.twins import twins_of
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.rounds.planning import Asked, Planned
from tunememory.session import Session, open_session
from tunememory.store.records import new_identity

if TYPE_CHECKING:
    from pathlib import Path

    from tunememory.music.tune import Tune

MORNING = datetime(2026, 11, 24, 7, 10, tzinfo=UTC)
ADDED = date(2026, 5, 1)

_BOOK = (
    # title, kind, key, notes of the A start; the B start is the same backwards
    ("Haste to the Wedding", "jig", "D", "AFAAFA"),
    ("The Boys of Bluehill", "hornpipe", "D", "FABAFAD"),
    ("Off to California", "hornpipe", "G", "DGFGBAG"),
    ("The Irish Washerwoman", "jig", "G", "dcBGGD"),
    ("Miss McLeod's Reel", "reel", "G", "GBdBGBdB"),
    ("Soldier's Joy", "reel", "D", "dBAFAFAF"),
    ("The Flowers of Edinburgh", "reel", "G", "GEDEGAB"),
    ("Garryowen", "jig", "G", "dcBAGF"),
    ("The Rakes of Mallow", "polka", "G", "GBGBGBAG"),
    ("The Blackbird", "hornpipe", "Ddor", "DEFGABcA"),
    ("The Swallow's Tail", "reel", "Ador", "EAAGABc"),
    ("The Cook in the Kitchen", "jig", "Ador", "ABcBAG"),
    ("Drowsy Maggie", "reel", "Em", "EBdBEBdB"),
    ("Kitty of Coleraine", "jig", "A", "EAcBAc"),
    ("The Harvest Home", "hornpipe", "D", "AdFADFAd"),
    ("Saddle the Pony", "jig", "G", "GBAGBd"),
)

_WENT = (
    # title, then how many days ago it was asked and what level it got; those not here were never
    # asked, and wait in another tuning
    ("Haste to the Wedding", (90, 3), (60, 4), (30, 4), (12, 4), (2, 4)),
    ("The Boys of Bluehill", (60, 3), (20, 4), (5, 4)),
    ("Off to California", (60, 2), (30, 3)),
    ("The Irish Washerwoman", (60, 3), (30, 3)),
    ("Miss McLeod's Reel", (70, 3), (40, 3), (25, 3)),
    ("Soldier's Joy", (40, 4), (10, 4), (3, 4)),
    ("The Flowers of Edinburgh", (80, 1), (60, 1), (40, 1)),
    ("Garryowen", (45, 3), (12, 3)),
    ("The Rakes of Mallow", (90, 4), (60, 4), (30, 4), (10, 4), (1, 4)),
    ("The Blackbird", (80, 2), (60, 1)),
    ("The Swallow's Tail", (30, 4), (8, 4)),
    ("The Cook in the Kitchen", (50, 3), (25, 3)),
    ("Drowsy Maggie", (50, 4), (20, 4), (6, 4)),
    ("Saddle the Pony", (70, 2), (50, 2)),
)


def _identity(number: int) -> str:
    """Identity of a tune of the book, the same in every file."""
    return f"{number:032x}"


def _start(kind: str, notes: str) -> str:
    """Notes as ABC, four in a bar."""
    lengths = cycle(["2", ""] if kind == "jig" else ["2"])
    return " ".join(note + length for note, length in zip(notes, lengths, strict=False))


def _draft(title: str, kind: str, key: str, notes: str) -> Draft:
    metre = "6/8" if kind == "jig" else "C|"
    starts = (("A", _start(kind, notes)), ("B", _start(kind, notes[::-1])))
    tuning = "" if any(title == asked for asked, *_ in _WENT) else "AEAE"
    return Draft((title,), kind, key, metre, tuning, starts=starts)


def _checks(session: Session) -> list[Check]:
    tunes = {tune.title: tune for tune in book_of(session)}
    return [
        Check(
            uuid=new_identity(),
            tune=tunes[title].uuid,
            at=MORNING - timedelta(days=ago),
            day=(MORNING - timedelta(days=ago)).date(),
            round_kind=RoundKind.FIRST,
            prompt=Prompt.HOW,
            levels=tuple((strand, Level(level)) for strand in ("key", "A", "B")),
        )
        for title, *went in _WENT
        for ago, level in went
    ]


def make_file(path: Path, *, empty: bool = False) -> None:
    """Write the tunes with how they went, or a file without tunes."""
    with open_session(path, fixed_clock(MORNING)) as session:
        settings = session.settings
        if empty:
            return
        add_tunes(
            session,
            [
                tune_of(
                    _draft(*row), uuid=_identity(place), added=ADDED, settings=settings, old=None
                )
                for place, row in enumerate(_BOOK)
            ],
        )
        session.repertoire.checks.add(_checks(session))
    with open_session(path, fixed_clock(MORNING)) as session:
        # Beliefs are put in the file, so that a copy opens as quickly as a file in use.
        assert session.beliefs is not None


def open_copy(made: Path, path: Path, titles: dict[int, str] | None = None) -> Session:
    """Open a copy of a file.

    Args:
        made: From ``make_file``.
        path: Where the copy goes.
        titles: Other titles for some of ``book_of``, by number. They stand as no file gives them,
            since reading cleans them: a screen has to be safe by itself.
    """
    shutil.copy(made, path)
    session = open_session(path, fixed_clock(MORNING))
    for number, title in (titles or {}).items():
        tune = book_of(session)[number]
        session.tunes[tune.uuid] = replace(tune, titles=(title,))
    return session


def book_of(session: Session) -> list[Tune]:
    """The tunes in the order of the book."""
    return [session.tunes[_identity(number)] for number in range(len(session.tunes))]


def planned(session: Session, prompts: int = 14) -> Planned:
    """A first round of the later tunes of the book, every third asked for its name."""
    book = book_of(session)[2:]
    asked = []
    for place, tune in enumerate(book[:prompts], start=2):
        what = place % 3 == 1
        asked.append(
            Asked(
                tune=tune,
                prompt=Prompt.WHAT if what else Prompt.HOW,
                strands=("name",) if what else ("key", "A", "B"),
                chance=0.5,
                starts=start_views(tune, session.settings),
                twins=twins_of(session, tune.uuid),
                tuning=(tune.tuning or session.settings.usual).letters,
            )
        )
    return Planned(RoundKind.FIRST, session.day(), "GDAE", 4.0, tuple(asked), "", coming_back=False)
