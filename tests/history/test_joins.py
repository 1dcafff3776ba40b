"""Joins of sets: remembered apart from their tunes, asked in rounds like a tune of their own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.playing import rate
from tunememory import history
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.library.adding import remove_tune, set_status
from tunememory.library.overview import tune_view
from tunememory.library.sets import set_view
from tunememory.music.tune import Status
from tunememory.practice.today import today_view
from tunememory.recall.check import Level, Prompt, RoundKind
from tunememory.rounds.planning import plan_round, plan_set
from tunememory.rounds.running import RoundRun
from tunememory.session import Session, differing, open_session, rebuild
from tunememory.store.records import TuneSet
from tunememory.store.verify import verify

Kept = Callable[..., list[str]]


@pytest.fixture
def in_set(session: Session, kept: Kept) -> list[str]:
    """Three tunes of one set."""
    uuids = kept(3)
    session.repertoire.sets.save(TuneSet("set", "Low Tide", tuple(uuids)))
    session.reload()
    return uuids


def play(run: RoundRun, level: Level = Level.KICK_OFF) -> list[str]:
    asked = []
    while run.current is not None:
        asked.append(history.row_of((run.current.after.uuid, run.current.tune.uuid))
                     if run.current.after else run.current.tune.uuid)  # fmt: skip
        rate(run, level, seconds=2.0)
    run.stop()
    return asked


def test_a_join_asks_for_the_next_tune_by_the_one_before(
    session: Session, in_set: list[str], hands: Any
) -> None:
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    planned = plan_round(session, RoundKind.FIRST)
    found = {(asked.after.uuid, asked.tune.uuid) for asked in planned.asked if asked.after}
    assert found == {(in_set[0], in_set[1]), (in_set[1], in_set[2])}
    asked = planned.asked[0]
    assert asked.prompt is Prompt.JOIN
    assert asked.after is not None
    assert asked.of is asked.after
    assert asked.strands == (f"join {asked.tune.uuid}",)
    assert [start.part for start in asked.starts] == ["A", "B"]


def test_a_join_is_never_in_a_round_with_the_tune_it_leads_to(
    session: Session, in_set: list[str]
) -> None:
    planned = plan_round(session, RoundKind.FIRST)
    named = [asked.tune.uuid for asked in planned.asked]
    assert len(named) == len(set(named))


def test_a_rated_join_changes_its_own_belief_and_no_tunes(
    session: Session, in_set: list[str], hands: Any
) -> None:
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    tunes = session.repertoire.beliefs.all()
    pair = (in_set[0], in_set[1])
    before = history.join_beliefs(session)[pair].mean[history.COLUMN]
    asked = play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)), Level.SIT_OUT)
    assert history.row_of(pair) in asked
    assert history.join_beliefs(session)[pair].mean[history.COLUMN] < before
    assert session.repertoire.beliefs.all() == tunes
    assert session.last_met.keys() == set(in_set)
    assert (differing(session), rebuild(session)) == (0, 0)


def test_step_by_step_gives_the_same_bits_as_the_history(
    session: Session, in_set: list[str], hands: Any, clock: Clock
) -> None:
    for level in (Level.FIND, Level.SIT_OUT, Level.KICK_OFF):
        play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)), level)
        play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)), level)
        hands.forward(days=2)
    pair = (in_set[0], in_set[1])
    assert history.joins_of(session).last_asked(pair) is not None
    kept = history.join_beliefs(session)[pair].to_bytes()
    with open_session(session.path, clock) as other:
        assert history.join_beliefs(other)[pair].to_bytes() == kept


def test_a_join_that_would_not_come_is_asked_in_the_last_round_and_undone_like_any(
    session: Session, in_set: list[str], hands: Any
) -> None:
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    assert run.current is not None
    first = run.current
    chance = history.join_chance(session, (first.of.uuid, first.tune.uuid))
    rate(run, Level.SIT_OUT, seconds=30.0)
    assert run.undo()
    assert [run.current] == [first]
    assert session.repertoire.checks.of_joins() == []
    assert history.join_chance(session, (first.of.uuid, first.tune.uuid)) == pytest.approx(
        chance, abs=1e-3
    )
    rate(run, Level.SIT_OUT, seconds=30.0)
    while run.left:
        rate(run, Level.KICK_OFF, seconds=2.0)
    summary = run.stop()
    assert summary.would_not_come == (f"{first.of.title} → {first.tune.title}",)
    last = plan_round(session, RoundKind.LAST)
    assert [asked.prompt for asked in last.asked] == [Prompt.JOIN]


def test_a_join_is_left_alone_when_one_of_its_tunes_is(
    session: Session, in_set: list[str], hands: Any
) -> None:
    set_status(session, in_set[1], Status.RESTING)
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    assert not any(asked.after for asked in plan_round(session, RoundKind.FIRST).asked)
    hands.forward(days=1)
    set_status(session, in_set[1], Status.KEPT)
    session.repertoire.rounds.put_off(in_set[0], session.day())
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    after = [
        asked.after.uuid for asked in plan_round(session, RoundKind.FIRST).asked if asked.after
    ]
    assert after == [in_set[1]]


def test_what_is_known_of_a_join_outlives_its_set(session: Session, in_set: list[str]) -> None:
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    pair = (in_set[0], in_set[1])
    kept = history.join_beliefs(session)[pair].to_bytes()
    session.repertoire.sets.remove("set")
    session.repertoire.sets.save(TuneSet("other", "", (in_set[2], *pair)))
    session.reload()
    assert history.join_beliefs(session)[pair].to_bytes() == kept
    assert set(history.joins_of(session).of_sets) == {(in_set[2], in_set[0]), pair}


def test_today_hides_the_tunes_of_a_join_in_the_round(session: Session, in_set: list[str]) -> None:
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)), Level.SIT_OUT)
    assert any(asked.after for asked in plan_round(session, RoundKind.FIRST).asked)
    assert today_view(session).fading == ()


def test_joins_stand_in_the_history_of_their_first_tune_and_of_their_set(
    session: Session, in_set: list[str]
) -> None:
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)))
    play(RoundRun.begin(session, plan_round(session, RoundKind.FIRST)), Level.SIT_OUT)
    first, second, third = in_set
    led = {
        uuid: [c.into for c in tune_view(session, uuid).history if c.check.prompt is Prompt.JOIN]
        for uuid in in_set
    }
    assert led == {
        first: [session.tune(second).title],
        second: [session.tune(third).title],
        third: [],
    }
    history = tune_view(session, first).history
    assert not any(past.into for past in history if past.check.prompt is not Prompt.JOIN)
    joined = set_view(session, "set").joins
    assert [join.asked for join in joined] == [((session.day(), Level.SIT_OUT),)] * 2
    remove_tune(session, second)
    assert {c.into for c in tune_view(session, first).history if c.check.prompt is Prompt.JOIN} == {
        "a tune that was removed"
    }


def test_a_set_is_asked_as_it_is_played(session: Session, in_set: list[str]) -> None:
    planned = plan_set(session, "set")
    first, second, third = in_set
    assert [(one.prompt, one.tune.uuid, one.of.uuid) for one in planned.asked] == [
        (Prompt.HOW, first, first),
        (Prompt.JOIN, second, first),
        (Prompt.JOIN, third, second),
    ]
    assert planned.minutes > 0
    play(RoundRun.begin(session, planned), Level.FIND)
    joined = set_view(session, "set").joins
    assert [join.asked for join in joined] == [((session.day(), Level.FIND),)] * 2
    assert all(join.chance is not None for join in joined)
    again = plan_set(session, "set")
    assert again.asked[1].chance > planned.asked[1].chance
    assert verify(session.repertoire) == []


def test_a_set_whose_tunes_are_gone_cannot_be_asked(session: Session, in_set: list[str]) -> None:
    for uuid in in_set:
        remove_tune(session, uuid)
    with pytest.raises(NotDoneError):
        plan_set(session, "set")
