from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import strategies as st

from tests.music.conftest import Draw as DrawMusic
from tunememory.music.abc.notes import parse_notes
from tunememory.music.key import Key
from tunememory.music.pitch import Note
from tunememory.music.spelling import spell
from tunememory.music.strings import STANDARD, Tuning
from tunememory.music.tune import Start, Tune
from tunememory.music.ways.material import Subject

D_MAJOR = Key("D")
METRES = ("C|", "4/4", "2/4", "6/8", "9/8", "12/8", "3/4", "3/2", "5/4", "")


def a_start(text: str, key: Key | None = None, metre: str = "C|", part: str = "A") -> Start:
    read = parse_notes(text, key, metre)
    assert not read.problem
    return Start(part, read.notes, read.pickup, text)


@pytest.fixture(scope="session")
def subject() -> Callable[..., Subject]:
    """Makes a subject from ABC starts, part by part."""

    def make(
        *starts: str,
        key: Key | None = D_MAJOR,
        metre: str = "C|",
        tuning: Tuning = STANDARD,
        **more: object,
    ) -> Subject:
        tune = Tune(
            "one",
            ("The Grey Wader",),
            key=key,
            metre=metre,
            starts=tuple(
                a_start(text, key, metre, "ABCDEF"[place]) for place, text in enumerate(starts)
            ),
        )
        return Subject(tune, tuning, **more)  # type: ignore[arg-type]

    return make


class Draw(DrawMusic):
    """Strategies shared by the tests of the ways."""

    @st.composite
    @staticmethod
    def starts(draw: st.DrawFn, keys: st.SearchStrategy[Key] | None = None) -> Start:
        key = draw(keys or Draw.keys)
        midis = draw(st.lists(st.integers(50, 86), min_size=1, max_size=18))
        notes = tuple(Note(spell(midi, key), draw(Draw.lengths)) for midi in midis)
        total = sum(note.quarters for note in notes)
        pickup = draw(st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1)]))
        return Start("A", notes, pickup if pickup < total else Fraction(0), key=key)

    @st.composite
    @staticmethod
    def subjects(draw: st.DrawFn) -> Subject:
        key = draw(st.none() | Draw.keys)
        starts = tuple(draw(st.lists(Draw.starts(), max_size=2)))
        tune = Tune(
            "one",
            ("The Grey Wader",),
            kind="reel",
            key=key,
            metre=draw(st.sampled_from(METRES)),
            starts=tuple(
                Start("AB"[place], s.notes, s.pickup, key=draw(st.sampled_from([None, s.key])))
                for place, s in enumerate(starts)
            ),
            note=draw(st.sampled_from(["", "recording: reel 3, side b"])),
        )
        return Subject(tune, draw(Draw.tunings), others=(tune,))


@pytest.fixture(scope="session")
def draw() -> type[Draw]:
    return Draw
