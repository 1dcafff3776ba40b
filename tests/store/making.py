"""Tunes and checks for tests of the file."""

from __future__ import annotations

import sqlite3
import string
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from uuid import UUID

from hypothesis import strategies as st

from tunememory.clock import Clock
from tunememory.music.key import MODES, Key
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.strings import NICKNAMES, Tuning
from tunememory.music.tune import Declared, Start, Status, Tune
from tunememory.recall.check import Check, Level, Practice, Prompt, RoundKind
from tunememory.store.records import (
    Date,
    DayOff,
    Heard,
    ImportedRow,
    ParameterSet,
    Round,
    Sitting,
    TuneSet,
    TwinRow,
)
from tunememory.store.repertoire import Repertoire
from tunememory.text import NOTE_LIMIT, clean_text

ROOT = Path(__file__).parents[2]
"""Where a child process runs so that it finds the package and these helpers."""

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


class MovingClock:
    """A clock that tests set by hand."""

    def __init__(self, moment: datetime = NOON) -> None:
        self.moment = moment

    def clock(self) -> Clock:
        return Clock(lambda: self.moment, UTC)


def identity(number: int) -> str:
    return str(UUID(int=number))


def a_tune(number: int = 1, **changes: object) -> Tune:
    """An invented tune; ``number`` makes its identity."""
    first = Note(Pitch(4, "D"), Fraction(1, 2))
    second = Note(Pitch(4, "F", 1), Fraction(3, 2))
    tune = Tune(
        uuid=identity(number),
        titles=(f"The Heron on Post {number}", "Grey Wader"),
        kind="reel",
        key=Key("D", "mixolydian"),
        metre="C|",
        tuning=Tuning((57, 64, 69, 76)),
        status=Status.LEARNING,
        starts=(
            Start("A", (first, second, first), Fraction(1, 2), "DF>D"),
            Start("B", (second,), Fraction(0), "F3", Key("G"), "bar 2 is long"),
        ),
        declared=Declared.OLD_FRIEND,
        source="the box player",
        note="two\nlines",
        favourite=True,
        added=date(2026, 3, 1),
    )
    return replace(tune, **changes)  # type: ignore[arg-type]


def a_check(number: int = 1, tune: int = 1, **changes: object) -> Check:
    """A check of a tune made ``number`` minutes after noon."""
    at = NOON + timedelta(minutes=number)
    check = Check(
        uuid=identity(1_000_000 + number),
        tune=identity(tune),
        at=at,
        day=at.date(),
        round_kind=RoundKind.LOOSE,
        prompt=Prompt.HOW,
        levels=(("key", Level.KICK_OFF), ("A", Level.FIND), ("B", Level.SIT_OUT)),
        seconds=2.5,
    )
    return replace(check, **changes)  # type: ignore[arg-type]


def a_practice(number: int = 1, tune: int = 1, **changes: object) -> Practice:
    """Work on a tune that ended ``number`` minutes after noon."""
    at = NOON + timedelta(minutes=number)
    entry = Practice(
        identity(2_000_000 + number), at, at.date(), 2.5, identity(tune) if tune else "", "scale"
    )
    return replace(entry, **changes)  # type: ignore[arg-type]


def a_set(number: int = 1, tunes: tuple[int, ...] = (1, 2), **changes: object) -> TuneSet:
    """An invented set of tunes."""
    made = TuneSet(identity(4_000_000 + number), f"Low Tide {number}", tuple(map(identity, tunes)))
    return replace(made, **changes)  # type: ignore[arg-type]


def a_date(
    number: int = 1, tunes: tuple[int, ...] = (), sets: tuple[int, ...] = (), **changes: object
) -> Date:
    """An invented weekly session."""
    made = Date(
        uuid=identity(3_000_000 + number),
        title=f"Kitchen session {number}",
        first_day=date(2026, 3, 19),
        kind="session",
        place="the kitchen",
        rule="FREQ=WEEKLY;BYDAY=TH",
        except_days=(date(2026, 4, 2), date(2026, 4, 9)),
        tunes=tuple(map(identity, tunes)),
        sets=tuple(identity(4_000_000 + one) for one in sets),
        weeks_before=5,
    )
    return replace(made, **changes)  # type: ignore[arg-type]


A_DAY_OFF = DayOff(identity(5_000_001), date(2026, 8, 1), date(2026, 8, 14), "", "away")


@contextmanager
def no_commit(repertoire: Repertoire) -> Iterator[None]:
    """Everything can be written but nothing can be finished, as when the disk goes away."""

    def allowed(action: int, what: str | None, *_: str | None) -> int:
        refused = action == sqlite3.SQLITE_TRANSACTION and what == "COMMIT"
        return sqlite3.SQLITE_DENY if refused else sqlite3.SQLITE_OK

    repertoire.connection.set_authorizer(allowed)
    try:
        yield
    finally:
        repertoire.connection.set_authorizer(None)


def at_once(script: str, *arguments: tuple[str, ...]) -> list[tuple[str, str]]:
    """Run a script in as many processes as there are arguments; return what each printed.

    Each waits for a line on its standard input, so that they go on together.
    """
    running = [
        subprocess.Popen(
            [sys.executable, "-c", script, *given],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for given in arguments
    ]
    for process in running:
        assert process.stdin is not None
        process.stdin.write("now\n")
        process.stdin.flush()
    return [process.communicate(timeout=120) for process in running]


DAY = NOON.date()


def fill(repertoire: Repertoire) -> None:
    """Write tunes 1 and 2, and at least one row into every table there is."""
    with repertoire.writing():
        repertoire.tunes.add([a_tune(1), a_tune(2)])
        repertoire.imports.save(ImportedRow(identity(1), "Aird 1782", "7", "egret", "X:7", "abc"))
        alike = TwinRow(identity(1), "A", identity(2), "B", 0.05, 5)
        repertoire.twins.save([identity(1), identity(2)], [alike])
        repertoire.sets.save(a_set(1))
        repertoire.dates.save(a_date(1, tunes=(1,), sets=(1,)))
        repertoire.dates.answer(a_date(1).uuid, DAY)
        repertoire.days_off.save(A_DAY_OFF)
        repertoire.rounds.begin(Round("round", RoundKind.LOOSE, DAY, NOON, 4.0))
        repertoire.rounds.put_off(identity(2), DAY)
        repertoire.checks.record(
            a_check(1, round_uuid="round", strayed_into=identity(2)), b"belief"
        )
        repertoire.practices.record(a_practice(1, played_at=a_date(1).uuid), b"belief")
        repertoire.heard.save(Heard(identity(1), DAY, tune=identity(1)))
        repertoire.pick_ups.save(DAY, "B part: phrase 3")
        repertoire.sittings.save(Sitting(DAY))
        repertoire.beliefs.save({identity(1): b"one", identity(2): b"two"}, parameters_version=0)
        repertoire.parameters.add(ParameterSet("fit-1", NOON, "{}", "{}"))
        repertoire.settings.save({"minutes": "6"})


def _line(limit: int = 40) -> st.SearchStrategy[str]:
    return st.text(max_size=limit).map(clean_text)


def _lines() -> st.SearchStrategy[str]:
    return st.text(max_size=60).map(lambda text: clean_text(text, multiline=True, limit=NOTE_LIMIT))


pitches = st.builds(Pitch, st.integers(-2, 11), st.sampled_from(LETTERS), st.integers(-2, 2))
notes = st.builds(
    Note, pitches, st.fractions(Fraction(1, 192), 16, max_denominator=192).filter(bool)
)
keys = st.builds(
    Key,
    st.builds(str.__add__, st.sampled_from(LETTERS), st.sampled_from(("", "#", "b"))),
    st.sampled_from(MODES),
    st.dictionaries(st.sampled_from(sorted(LETTERS)), st.integers(-2, 2), max_size=4).map(
        lambda changes: tuple(sorted(changes.items()))
    ),
)
tunings = st.one_of(
    st.sampled_from(list(NICKNAMES)), st.lists(st.integers(20, 100), min_size=1, max_size=8)
).map(lambda strings: Tuning(tuple(strings)))


@st.composite
def starts(draw: st.DrawFn) -> tuple[Start, ...]:
    parts = string.ascii_uppercase[: draw(st.integers(0, 5))]
    return tuple(
        Start(
            part,
            tuple(draw(st.lists(notes, max_size=20))),
            draw(st.fractions(0, 4, max_denominator=96)),
            draw(_lines()),
            draw(st.none() | keys),
            draw(_line()),
        )
        for part in parts
    )


tunes = st.builds(
    Tune,
    uuid=st.uuids().map(str),
    titles=st.lists(_line().filter(bool), max_size=4).map(tuple),
    kind=_line(12),
    key=st.none() | keys,
    metre=_line(8),
    tuning=st.none() | tunings,
    status=st.sampled_from(Status),
    starts=starts(),
    declared=st.sampled_from(Declared),
    source=_line(),
    note=_lines(),
    favourite=st.booleans(),
    added=st.dates(),
)
"""Tunes whose texts are clean, as everything is that enters the program."""
