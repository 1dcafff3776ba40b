"""The first screen as text, and back."""

from __future__ import annotations

import json
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from tunememory.practice.sitting import Step
from tunememory.practice.today import Coming, Fades, TodayView, TuneMark, from_text, to_text
from tunememory.recall.check import RoundKind
from tunememory.store.records import At
from tunememory.text import clean_text

DAY = date(2026, 11, 24)


def test_a_text_from_elsewhere_is_cleaned() -> None:
    view = from_text(to_text(a_view(note="\x1b[2J\u202eon")))
    assert view is not None
    assert view.note == "[2Jon"


def a_view(**changes: object) -> TodayView:
    return TodayView(
        day=DAY, tuning="GDAE", steps=(), fading=(), tunes=(), counts=(), note="",
        coming_back=False,
    )._replace(**changes)  # fmt: skip


DAYS = st.dates(date(1900, 1, 1), date(2900, 1, 1))
WORDS = st.text(max_size=20).map(clean_text)
CHANCES = st.floats(0, 1)
COUNTS = st.integers(0, 10_000)
VIEWS = st.builds(
    TodayView,
    day=DAYS,
    tuning=WORDS,
    steps=st.lists(
        st.builds(
            Step, st.sampled_from(RoundKind), st.floats(0, 100), COUNTS, st.booleans(), COUNTS
        ),
        max_size=3,
    ).map(tuple),
    fading=st.lists(st.builds(Fades, WORDS, WORDS, CHANCES), max_size=3).map(tuple),
    tunes=st.lists(
        st.builds(TuneMark, st.sampled_from(["", "D", "F#", "Bb"]), CHANCES, st.booleans()),
        max_size=9,
    ).map(tuple),
    counts=st.lists(st.tuples(WORDS, COUNTS), max_size=3).map(tuple),
    note=WORDS,
    coming_back=st.booleans(),
    at=st.sampled_from(At),
    closed=st.booleans(),
    pick_up=WORDS,
    pick_up_day=st.none() | DAYS,
    practice=COUNTS,
    coming=st.lists(st.builds(Coming, WORDS, DAYS, COUNTS, COUNTS, COUNTS), max_size=3).map(tuple),
    practised=st.booleans(),
    head_only=st.booleans(),
)


@given(VIEWS)
def test_a_view_comes_back_from_its_text(view: TodayView) -> None:
    assert from_text(to_text(view)) == view


@given(st.text() | st.dictionaries(st.sampled_from(TodayView._fields), st.none()).map(json.dumps))
def test_any_other_text_is_none(text: str) -> None:
    assert from_text(text) is None
