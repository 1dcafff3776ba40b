from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tunememory.dates.tonight import (
    Starter,
    best_first,
    by_tuning,
    one_a_key,
)
from tunememory.music.key import Key
from tunememory.music.tune import Tune
from tunememory.recall.state import SAFE

TODAY = date(2026, 11, 26)
A = 9


def starter(uuid, chance=0.9, key="A", tuning="GDAE", *, kind="reel", favourite=False,
            ago=None, lately=False):  # fmt: skip
    tune = Tune(uuid, (uuid,), kind=kind, key=Key(key) if key else None, favourite=favourite)
    return Starter(tune, tuning, chance, ago and TODAY - timedelta(days=ago), lately)


def uuids(starters):
    return [one.tune.uuid for one in starters]


def test_sure_ones_not_played_here_lately_come_first():
    every = [
        starter("shaky", 0.79),
        starter("lately", 0.99, favourite=True, ago=28, lately=True),
        starter("long ago", 0.99, ago=29),
        starter("longer ago", 0.81, ago=30),
        starter("never", 0.85),
        starter("loved", 0.81, favourite=True),
    ]
    found = best_first(every)
    assert uuids(found) == ["loved", "never", "longer ago", "long ago", "lately", "shaky"]
    assert [one.sure for one in found] == [True] * 5 + [False]
    assert best_first([]) == []


def test_only_what_fits_this_tuning_root_and_kind():
    every = [
        starter("a"),
        starter("cross", tuning="AEAE"),
        starter("in D", key="D"),
        starter("jig", kind="jig"),
        starter("no key", key=""),
    ]
    assert uuids(best_first(every, tuning="GDAE", root=A, kind="Reel")) == ["a"]
    assert uuids(best_first(every, root=A, kind="Jig")) == ["jig"]
    assert "no key" in uuids(best_first(every))
    assert one_a_key(best_first(every, tuning="GDAE", kind="jig")) == [("A", every[3])]


def test_what_have_i_in_a():
    every = [
        starter("Antelope", 0.1, tuning="AEAE"),
        starter("Zebra", tuning="AEAE"),
        starter("Bear"),
        starter("in D", key="D"),
    ]
    found = by_tuning(best_first(every, root=A))
    assert [(tuning, uuids(tunes)) for tuning, tunes in found] == [
        ("AEAE", ["Zebra", "Antelope"]),
        ("GDAE", ["Bear"]),
    ]


def test_one_sure_starter_in_each_key():
    every = [
        starter("a1", 0.9),
        starter("a2", 0.95),
        starter("d1", 0.5, key="D"),
        starter("g1", 0.85, key="G"),
        starter("b flat", 0.85, key="Bb"),
        starter("a sharp", 0.95, key="A#"),
    ]
    found = one_a_key(best_first(every))
    assert [(name, one and one.tune.uuid) for name, one in found] == [
        ("A", "a2"),
        ("A#", "a sharp"),
        ("D", None),
        ("G", "g1"),
    ]
    assert one_a_key([]) == []


@given(
    st.lists(
        st.tuples(
            st.floats(0, 1), st.sampled_from("ADG"), st.sampled_from(["GDAE", "AEAE"]),
            st.none() | st.integers(1, 99),
        ),
        max_size=20,
    )
)  # fmt: skip
def test_an_unsure_tune_never_stands_before_a_sure_one(about):
    every = [
        starter(str(n), chance, key, tuning, ago=ago, lately=bool(ago and ago < 29))
        for n, (chance, key, tuning, ago) in enumerate(about)
    ]
    found = best_first(every)
    assert sorted(uuids(found), key=int) == [str(n) for n in range(len(every))]
    sure = [one.chance >= SAFE for one in found]
    assert sure == sorted(sure, reverse=True)
    for _, one in one_a_key(found):
        assert one is None or one.chance >= SAFE
