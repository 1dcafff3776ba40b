"""What to start, and what there is in a key."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.playing import came_at
from tunememory.dates.changing import DateDraft, save_date
from tunememory.dates.played import dates_to_tell, played_there
from tunememory.dates.tonight import (
    LATELY_DAYS,
    MOST,
    Starter,
    best_first,
    by_tuning,
    one_a_key,
    one_for_each_key,
    tunes_in_key,
    what_to_start,
)
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft, add_tune, set_status
from tunememory.library.overview import tune_view
from tunememory.music.forms import barred
from tunememory.music.key import Key
from tunememory.music.tune import Status, Tune
from tunememory.practice.today import today_view
from tunememory.practice.work_list import tunes_to_practise
from tunememory.recall.check import Level
from tunememory.recall.state import SAFE
from tunememory.session import Session
from tunememory.teaching.pupils import by_progress

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


# --- in a repertoire ---

Kept = Callable[..., list[str]]


def test_what_to_start_is_sure_and_not_played_here_lately(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(8)  # D, G, A, Em, and again
    view = save_date(session, DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    hands.forward(days=3)
    came_at(session, Level.KICK_OFF, uuids[0], uuids[4], uuids[1])
    (past,) = dates_to_tell(session)
    played_there(session, view.uuid, past.on, [uuids[0]])
    first, second, *_ = what_to_start(session, "D")
    assert (first.tune.uuid, first.sure, first.lately) == (uuids[4], True, False)
    assert (second.tune.uuid, second.played_here, second.lately) == (uuids[0], past.on, True)
    (start, _) = tune_view(session, uuids[4]).starts
    assert first.first == barred(start.letters[:8], start.bars)
    assert {one.tune.key_short for one in what_to_start(session, "D")} == {"D"}
    assert what_to_start(session, kind="waltz") == []
    with pytest.raises(NotDoneError, match="not a key"):
        what_to_start(session, "H")
    with pytest.raises(NotDoneError, match="no longer"):
        what_to_start(session, at="gone")


def test_five_of_those_kept_or_in_learning_and_for_four_weeks_lately(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(8, key="D")
    for uuid, status in zip(uuids, (Status.RESTING, Status.WANTED), strict=False):
        set_status(session, uuid, status)
    assert len(what_to_start(session)) == MOST == 5
    assert {one.tune.uuid for _, some in tunes_in_key(session, "D") for one in some} == set(
        uuids[2:]
    )
    jam = save_date(session, DateDraft("every day", "Jam"))
    played_there(session, jam.uuid, session.day(), uuids[2:3])
    for days, lately in ((LATELY_DAYS, True), (1, False)):
        hands.forward(days=days)
        ((_, found),) = tunes_in_key(session, "D")
        assert [one.tune.uuid for one in found if one.lately] == [uuids[2]] * lately


def test_what_there_is_in_a_key_by_tuning(session: Session, kept: Kept) -> None:
    uuids = kept(2, key="A")
    crossed = add_tune(session, Draft(titles=("Crossed",), key="Amix", tuning="AEAE")).uuid
    kept(1, key="D")
    found = tunes_in_key(session, "A")
    assert [(tuning, {one.tune.uuid for one in some}) for tuning, some in found] == [
        ("GDAE", set(uuids)), ("AEAE", {crossed}),
    ]  # fmt: skip
    with pytest.raises(NotDoneError, match="give a key"):
        tunes_in_key(session, "")


def test_one_sure_starter_a_key(session: Session, kept: Kept) -> None:
    uuids = kept(4)
    came_at(session, Level.KICK_OFF, uuids[1])
    found = dict(one_for_each_key(session))
    assert found.keys() == {"D", "G", "A", "E"}
    assert found["D"] is None
    assert found["G"] is not None
    assert found["G"].tune.uuid == uuids[1]


def test_an_empty_repertoire_has_no_answer_and_no_fault(session: Session) -> None:
    assert what_to_start(session) == []
    assert one_for_each_key(session) == []
    assert today_view(session).practice == 0
    assert tunes_to_practise(session).groups == ()
    assert not any(by_progress(session).values())
