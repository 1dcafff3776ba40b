from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tunememory.dates.tonight import (
    LATELY_DAYS,
    Known,
    Place,
    best_starters,
    one_a_key,
    what_have_i_in,
)
from tunememory.music.key import Key
from tunememory.music.tune import Status, Tune
from tunememory.recall.state import SAFE

TODAY = date(2026, 11, 26)
NEVER = Place(TODAY, {})
A, D, G = 9, 2, 7


def known(uuid: str, chance: float = 0.9, key: str = "A", tuning: str = "GDAE", **changes: object):
    tune = Tune(uuid, (uuid,), kind="reel", key=Key(key))
    return Known(replace(tune, **changes), tuning, chance)  # type: ignore[arg-type]


def uuids(starters):
    return [starter.known.tune.uuid for starter in starters]


def test_sure_ones_not_played_here_lately_come_first():
    lately = TODAY - timedelta(days=LATELY_DAYS)
    place = Place(TODAY, {"lately": lately, "long ago": lately - timedelta(days=1)})
    every = [
        known("shaky", 0.79),
        known("lately", 0.99, favourite=True),
        known("long ago", 0.99),
        known("never", 0.85),
        known("loved", 0.81, favourite=True),
    ]
    found = best_starters(every, place)
    assert uuids(found) == ["loved", "never", "long ago", "lately", "shaky"]
    assert [s.sure for s in found] == [True] * 4 + [False]
    assert [s.lately for s in found] == [False, False, False, True, False]
    assert found[2].played_here == lately - timedelta(days=1)


def test_only_what_fits_this_tuning_root_and_kind():
    every = [
        known("a"),
        known("cross", tuning="AEAE"),
        known("in D", key="D"),
        known("jig", kind="jig"),
        known("rests", status=Status.RESTING),
        known("wanted", status=Status.WANTED),
        known("no key"),
    ]
    every[-1] = Known(replace(every[-1].tune, key=None), "GDAE", 0.9)
    assert uuids(best_starters(every, NEVER, tuning="GDAE", root=A, kind="Reel")) == ["a"]
    ((_, there),) = what_have_i_in(every, A, kind="Jig")
    assert [one.tune.uuid for one in there] == ["jig"]
    assert [(key, best and best.known.tune.uuid) for key, best in one_a_key(
        every, NEVER, tuning="GDAE", kind="jig")] == [("A", "jig")]  # fmt: skip
    assert "no key" in uuids(best_starters(every, NEVER, most=9))


def test_no_more_than_asked_for():
    assert len(best_starters([known(str(n)) for n in range(9)], NEVER)) == 5
    assert best_starters([], NEVER) == ()


def test_what_have_i_in_a():
    every = [
        known("The Zebra", tuning="AEAE"),
        known("The Antelope", 0.1, tuning="AEAE"),
        known("Bear"),
        known("in D", key="D"),
        known("rests", status=Status.RESTING),
    ]
    found = what_have_i_in(every, A)
    assert [(tuning, [one.tune.uuid for one in tunes]) for tuning, tunes in found] == [
        ("AEAE", ["The Antelope", "The Zebra"]),
        ("GDAE", ["Bear"]),
    ]


def test_one_sure_starter_in_each_key():
    every = [
        known("a1", 0.9),
        known("a2", 0.95),
        known("d1", 0.5, key="D"),
        known("g1", 0.85, key="G"),
        known("b flat", 0.85, key="Bb"),
        known("a sharp", 0.95, key="A#"),
    ]
    found = one_a_key(every, NEVER)
    assert [(name, s.known.tune.uuid if s else None) for name, s in found] == [
        ("A", "a2"),
        ("A#", "a sharp"),
        ("D", None),
        ("G", "g1"),
    ]
    assert one_a_key(every, NEVER, tuning="AEAE") == ()


@given(
    st.lists(
        st.tuples(
            st.floats(0, 1), st.sampled_from("ADG"), st.sampled_from(["GDAE", "AEAE"]),
            st.none() | st.integers(0, 99),
        ),
        max_size=20,
    )
)  # fmt: skip
def test_an_unsure_tune_never_stands_before_a_sure_one(about):
    every = [known(str(n), chance, key, tuning) for n, (chance, key, tuning, _) in enumerate(about)]
    played = {
        str(n): TODAY - timedelta(days=ago) for n, (*_, ago) in enumerate(about) if ago is not None
    }
    found = best_starters(every, Place(TODAY, played), most=99)
    assert sorted(uuids(found), key=int) == [str(n) for n in range(len(every))]
    sure = [starter.known.chance >= SAFE for starter in found]
    assert sure == sorted(sure, reverse=True)
    for _, starter in one_a_key(every, Place(TODAY, played)):
        assert starter is None or starter.known.chance >= SAFE
