"""A round: what is asked, how it is rated, and what changes its course."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.playing import all_at, rate
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.adding import Draft, add_tune, draft_of, edit_tune, remove_tune
from tunememory.library.overview import tune_view
from tunememory.music.tune import Status
from tunememory.recall.check import Level, Prompt, RoundKind
from tunememory.rounds.planning import plan_round, plan_tune, plan_tunes
from tunememory.rounds.running import RoundRun
from tunememory.session import Session, differing, open_session

Kept = Callable[..., list[str]]
Hands = Any


def test_a_rating_is_on_disk_before_the_next_prompt(
    session: Session, clock: Clock, kept: Kept
) -> None:
    kept(6)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    first = run.current
    assert first is not None
    rate(run, Level.FIND, seconds=2.5)
    with open_session(session.path, clock) as other:
        (check,) = other.repertoire.checks.all()
        assert check.tune == first.tune.uuid
        assert dict(check.levels) == dict.fromkeys(first.strands, Level.FIND)
        assert check.seconds == 2.5
        assert other.beliefs.of(check.tune).to_bytes() == session.beliefs.of(check.tune).to_bytes()


def test_a_tune_taken_out_in_another_window_cannot_be_rated(
    session: Session, clock: Clock, kept: Kept
) -> None:
    kept(6)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    first = run.current
    assert first is not None
    with open_session(session.path, clock) as other:
        remove_tune(other, first.tune.uuid)
    with pytest.raises(NotDoneError, match="no longer in this repertoire"):
        rate(run, Level.FIND, seconds=2.5)
    assert session.repertoire.checks.all() == []
    run.skip()
    assert run.current is not None
    rate(run, Level.FIND, seconds=2.5)


def test_a_round_asks_each_tune_once_and_ends(session: Session, kept: Kept) -> None:
    kept(8)
    asked = all_at(session, Level.KICK_OFF)
    assert len(asked) == len(set(asked)) == 8
    assert [past.ended_at is not None for past in session.repertoire.rounds.on(session.day())] == [
        True
    ]
    assert plan_round(session, RoundKind.FIRST).asked == ()


def test_what_would_not_come_is_asked_in_the_last_round(
    session: Session, hands: Hands, kept: Kept
) -> None:
    kept(5)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    failed = run.current
    assert failed is not None
    rate(run, Level.SIT_OUT, seconds=9)
    while run.current is not None:
        rate(run, Level.KICK_OFF, seconds=2)
    run.stop()
    hands.forward(minutes=30)
    last = plan_round(session, RoundKind.LAST)
    assert [asked.tune.uuid for asked in last.asked] == [failed.tune.uuid]
    all_at(session, Level.FIND, RoundKind.LAST)
    assert plan_round(session, RoundKind.LAST).asked == ()


def test_the_plan_is_the_same_for_the_same_file_and_clock(
    session: Session, clock: Clock, kept: Kept
) -> None:
    kept(20)
    fixed = session.now()
    still = Clock(lambda: fixed, clock.zone)
    with open_session(session.path, still) as one, open_session(session.path, still) as other:
        assert plan_round(one, RoundKind.FIRST) == plan_round(other, RoundKind.FIRST)


def test_undo_takes_the_rating_back_and_asks_again(session: Session, kept: Kept) -> None:
    kept(4)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    first = run.current
    assert first is not None
    before = session.beliefs.of(first.tune.uuid).to_bytes()
    rate(run, Level.SIT_OUT, seconds=1)
    assert run.undo()
    assert run.current == first
    assert session.beliefs.of(first.tune.uuid).to_bytes() == before
    assert session.repertoire.checks.all() == []
    assert first.tune.uuid not in session.last_met
    assert not run.undo()


def test_a_hint_caps_the_level(session: Session, kept: Kept) -> None:
    kept(1)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    assert run.answer is not None
    run.answer.take(Level.KICK_OFF)
    run.answer.hints = 1
    run.rate()
    (check,) = session.repertoire.checks.all()
    assert {level for _, level in check.levels} == {Level.JOIN_IN}


def test_strands_can_be_rated_apart(session: Session, kept: Kept) -> None:
    kept(1)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    asked = run.current
    assert asked is not None
    assert asked.prompt is Prompt.HOW
    assert run.answer is not None
    run.answer.choose_strand("B")
    run.answer.take(Level.SIT_OUT)
    rate(run, Level.KICK_OFF, seconds=1)
    strands = {s.strand: s.chance.chance for s in tune_view(session, asked.tune.uuid).strands}
    assert strands["B"] < strands["A"]


def test_skip_not_today_only_kind_and_surprise(session: Session, kept: Kept) -> None:
    kept(6)
    kept(6, kind="jig")
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST, minutes=1.0))
    first = run.current
    assert first is not None
    run.skip()
    assert run.current != first
    left = run.left
    second = run.current
    assert second is not None
    run.not_today()
    assert run.left == left
    assert second.tune.uuid in session.repertoire.rounds.put_off_on(session.day())
    third = run.current
    run.surprise()
    assert run.current != third
    assert run.left == left
    run.only_kind("jig")
    assert run.current is not None
    assert run.current.tune.kind == "jig"
    assert run.left >= 3
    run.stop()
    assert second.tune.uuid not in {a.tune.uuid for a in plan_round(session, RoundKind.FIRST).asked}


def test_names_are_asked_too(session: Session, hands: Hands, kept: Kept) -> None:
    kept(6)
    prompts = set()
    for _ in range(20):
        planned = plan_round(session, RoundKind.FIRST)
        prompts |= {asked.prompt for asked in planned.asked}
        run = RoundRun.begin(session, planned)
        while run.current is not None:
            rate(run, Level.KICK_OFF, seconds=2)
        run.stop()
        hands.forward(days=1)
    assert prompts == {Prompt.HOW, Prompt.WHAT}


def test_wanted_and_resting_tunes_are_not_asked(session: Session, kept: Kept) -> None:
    kept(2, status=Status.WANTED)
    kept(2, status=Status.RESTING)
    assert plan_round(session, RoundKind.FIRST).asked == ()


def test_the_chance_of_a_prompt_is_that_of_its_weakest_strand(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    yesterday = session.now() - timedelta(days=3)
    record_check_away(
        session, uuid, {"key": Level.KICK_OFF, "A": Level.KICK_OFF, "B": Level.SIT_OUT}, yesterday
    )
    (asked,) = plan_round(session, RoundKind.FIRST).asked
    strands = {strand.strand: strand.chance.chance for strand in tune_view(session, uuid).strands}
    assert asked.chance == pytest.approx(min(strands[strand] for strand in asked.strands))


def test_a_full_file_keeps_the_prompt(session: Session, kept: Kept, tmp_path: Path) -> None:
    kept(3)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    first = run.current
    assert first is not None
    pages = session.repertoire.connection.execute("PRAGMA page_count").fetchone()[0]
    session.repertoire.connection.execute(f"PRAGMA max_page_count = {pages}")
    for _ in range(500):
        asked, left = run.current, run.left
        assert asked is not None
        try:
            rate(run, Level.FIND, seconds=1)
            asked, left = run.current, run.left
            run.undo()
        except NotDoneError:
            break
    else:
        pytest.fail("the file never became full")
    assert (run.current, run.left) == (asked, left)
    assert differing(session) == 0


def test_a_part_taken_out_while_it_is_asked_is_passed_over(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    run = RoundRun.begin(session, plan_round(session, RoundKind.LOOSE))
    assert run.current is not None
    assert "B" in run.current.strands
    draft = draft_of(session.tune(uuid))
    edit_tune(session, uuid, replace(draft, starts=draft.starts[:1]))
    rated = rate(run, Level.FIND, seconds=2)
    strands = {v.strand: v.chance.chance for v in tune_view(session, uuid).strands}
    assert rated.after == pytest.approx(min(strands["key"], strands["A"]), abs=1e-6)


def test_a_round_of_tunes_that_were_picked(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    wanted = add_tune(session, Draft(("Later",), status=Status.WANTED)).uuid
    planned = plan_tunes(session, [uuids[2], wanted, uuids[0], uuids[2]])
    assert [asked.tune.uuid for asked in planned.asked] == [uuids[2], uuids[0]]
    assert planned.minutes == pytest.approx(2 * plan_tune(session, uuids[0]).minutes)
    for nothing in ([], [wanted]):
        with pytest.raises(NotDoneError, match="nothing can be asked"):
            plan_tunes(session, nothing)
