"""The work-list: why a tune is on it, how it is grouped, what today puts there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.playing import rate
from tunememory.dates.changing import DateDraft, save_date
from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.adding import Draft, add_tune, set_status
from tunememory.library.sets import save_set
from tunememory.music.key import Key
from tunememory.music.strings import STANDARD, parse_tuning
from tunememory.music.tune import Status, Tune
from tunememory.practice.sitting import set_pick_up
from tunememory.practice.today import today_view
from tunememory.practice.work_list import Reason, in_learning, tunes_to_practise, work_list
from tunememory.recall.check import Level, RoundKind
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun
from tunememory.session import Session

Kept = Callable[..., list[str]]
CROSS_A = parse_tuning("AEAE")


def a_tune(uuid: str, key: str | None = "D", mode: str = "major", **changes: object) -> Tune:
    tune = Tune(uuid, (f"Tune {uuid}",), key=Key(key, mode) if key else None,
                added=date(2026, 1, 1))  # fmt: skip
    return replace(tune, **changes)  # type: ignore[arg-type]


def shape(made):
    return [(group.root, [item.tune.uuid for item in group.items]) for group in made.groups]


def listed(tunes, wanted, **more):
    return work_list(tunes, STANDARD, STANDARD, wanted, **more)


def chosen(*uuids: str) -> dict[Reason, tuple[str, ...]]:
    return {Reason.CHOSEN: uuids}


def test_each_reason_brings_its_tunes_and_one_tune_is_listed_once():
    tunes = [
        a_tune("failed", "G"),
        a_tune("picked up", "A"),
        a_tune("learning", "G", status=Status.LEARNING),
        a_tune("date", "E"),
        a_tune("other"),
    ]
    wanted = {
        Reason.LEARNING: in_learning(tunes),
        Reason.DATE: ["date", "failed"],
        Reason.PICK_UP: ["picked up"],
        Reason.DID_NOT_COME: ["failed"],
    }
    made = listed(tunes, wanted)
    assert shape(made) == [("G", ["failed", "learning"]), ("A", ["picked up"]), ("E", ["date"])]
    assert made.groups[0].items[0].reasons == (Reason.DID_NOT_COME, Reason.DATE)
    assert made.groups[0].items[1].reasons == (Reason.LEARNING,)


def test_one_drone_serves_a_group():
    """The open string on the root, else a fifth above: common practice, no source."""
    tunes = [a_tune("d", "D"), a_tune("c", "C"), a_tune("b", "B"), a_tune("none", None)]
    made = listed(tunes, chosen("none", "d", "c", "b"))
    assert [(g.root, g.drone) for g in made.groups] == [
        ("D", 1),
        ("C", 0),
        ("B", None),
        ("", None),
    ]


def test_modes_of_a_root_are_together():
    tunes = [a_tune("1", "A"), a_tune("2", "A", "minor"), a_tune("3", "A"), a_tune("4", "G")]
    made = listed(tunes, chosen("1", "2", "3", "4"))
    assert shape(made) == [("A", ["1", "3", "2"]), ("G", ["4"])]


def test_enharmonic_roots_are_one_root():
    tunes = [a_tune("1", "Bb"), a_tune("2", "A#")]
    assert shape(listed(tunes, chosen("1", "2"))) == [("Bb", ["1", "2"])]


def test_the_tunes_longest_in_learning_go_on():
    tunes = [
        a_tune(str(n), status=Status.LEARNING, added=date(2026, 1, 9 - n)) for n in range(1, 6)
    ]
    assert in_learning([*tunes, a_tune("kept")]) == ["5", "4", "3", "2", "1"]


def test_other_tunings_are_left_out_and_told():
    tunes = [a_tune("cross", "A", tuning=CROSS_A), a_tune("here", "A"), a_tune("own", "A")]
    tunes[2] = replace(tunes[2], tuning=STANDARD)
    made = listed(tunes, chosen("cross", "here", "own"))
    assert shape(made) == [("A", ["here", "own"])]
    assert made.elsewhere == {"AEAE": 1}
    assert shape(work_list(tunes, STANDARD, CROSS_A, chosen("cross"))) == [("A", ["cross"])]


def test_the_most_pressing_stay_on_a_short_list():
    tunes = [a_tune(str(n)) for n in range(9)]
    wanted = {
        Reason.DID_NOT_COME: ["3"],
        Reason.PICK_UP: ["5"],
        Reason.DATE: [str(n) for n in range(9)],
    }
    made = listed(tunes, wanted, most=3)
    assert shape(made) == [("D", ["3", "5", "0"])]


def test_a_tune_that_is_gone_is_passed_over():
    assert listed([a_tune("1")], dict.fromkeys(Reason, ("gone",))).groups == ()


roots = st.none() | st.sampled_from(["C", "D", "G", "A", "Bb"])


@given(
    st.lists(st.tuples(roots, st.sampled_from(Status)), max_size=15),
    st.lists(st.integers(0, 20), max_size=9),
    st.lists(st.integers(0, 20), max_size=9),
    st.integers(0, 9),
)
def test_every_group_is_of_one_root_and_no_tune_comes_twice(about, failed, dated, most):
    tunes = [a_tune(str(n), key, status=status) for n, (key, status) in enumerate(about)]
    wanted = {
        Reason.DID_NOT_COME: [str(n) for n in failed],
        Reason.LEARNING: in_learning(tunes),
        Reason.DATE: [str(n) for n in dated],
    }
    made = listed(tunes, wanted, most=most)
    listed_tunes = [item.tune for group in made.groups for item in group.items]
    assert len(listed_tunes) <= most
    assert len({tune.uuid for tune in listed_tunes}) == len(listed_tunes)
    for group in made.groups:
        assert {item.tune.key.root if item.tune.key else "" for item in group.items} == {group.root}


def reasons(session: Session) -> dict[str, set[str]]:
    return {
        item.tune.uuid: {reason.value for reason in item.reasons}
        for group in tunes_to_practise(session).groups
        for item in group.items
    }


def test_the_work_list_holds_what_today_asks_for(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(12)
    failed, learning, picked, dated, resting = uuids[:5]
    set_status(session, learning, Status.LEARNING)
    set_status(session, resting, Status.RESTING)
    save_date(session, DateDraft("+10d", "Dance", tunes=(dated,)))
    set_pick_up(session, f"{session.tune(picked).title}, the turn")
    hands.forward(days=1)
    record_check_away(session, failed, {"A": Level.SIT_OUT}, session.now())
    found = reasons(session)
    assert found == {
        failed: {"would not come today"},
        picked: {"pick up here"},
        learning: {"in learning"},
        dated: {"for the next date"},
    }
    assert today_view(session).practice == 4


def test_so_many_in_learning_as_the_player_takes_on_are_listed(
    session: Session, kept: Kept
) -> None:
    learning = kept(5, status=Status.LEARNING)
    assert session.settings.intake == 3
    assert reasons(session).keys() == set(sorted(learning)[:3])


def test_a_join_that_would_not_come_brings_the_tune_it_leads_to(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    save_set(session, "Low Tide", uuids)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    while run.current is not None:
        rate(run, Level.KICK_OFF, seconds=1.0)
    run.stop()
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    assert run.current is not None
    rate(run, Level.SIT_OUT, seconds=1.0)
    assert reasons(session) == {uuids[1]: {"would not come today"}}


def test_the_work_list_keeps_to_one_tuning_and_says_what_is_elsewhere(
    session: Session, kept: Kept
) -> None:
    kept(2, status=Status.LEARNING, tuning="AEAE")
    kept(1, status=Status.LEARNING)
    here = tunes_to_practise(session)
    assert (len(here.groups), dict(here.elsewhere)) == (1, {"AEAE": 2})
    assert sum(len(group.items) for group in tunes_to_practise(session, "cross A").groups) == 2
    with pytest.raises(NotDoneError):
        tunes_to_practise(session, "nothing")


def test_a_pick_up_line_names_tunes_by_whole_words(session: Session) -> None:
    wanted = add_tune(session, Draft(titles=("The Egret",), status=Status.RESTING)).uuid
    add_tune(session, Draft(titles=("Gret",)))
    add_tune(session, Draft(titles=("A",)))
    session.repertoire.pick_ups.save(
        session.day() - timedelta(days=1), "egret: a slow go at the turn"
    )
    assert reasons(session) == {wanted: {"pick up here"}}


def test_the_player_may_work_on_any_tune(session: Session, kept: Kept) -> None:
    uuids = kept(3, status=Status.RESTING)
    assert reasons(session) == {}
    (group,) = tunes_to_practise(session, chosen=uuids[:1]).groups
    assert [item.reasons[0].value for item in group.items] == ["your choice"]
