"""What time does to rounds: days, gaps, late checks, a clock that was wrong."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from tests.playing import all_at, rate
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.overview import tune_rows, tune_view
from tunememory.music.tune import Declared
from tunememory.recall.check import NAME, Level, Prompt, RoundKind
from tunememory.recall.state import State
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun, rate_away
from tunememory.session import Session, differing, open_session, rebuild

Kept = Callable[..., list[str]]
Hands = Any


def test_tomorrow_follows_from_today(session: Session, hands: Hands, kept: Kept) -> None:
    uuids = kept(40, starts=())
    today = all_at(session, Level.KICK_OFF)
    hands.forward(days=1)
    tomorrow = [asked.tune.uuid for asked in plan_round(session, RoundKind.FIRST).asked]
    assert tomorrow
    assert set(tomorrow) <= set(uuids)
    assert not set(tomorrow) & set(today)


def test_coming_back_after_the_summer(session: Session, hands: Hands, kept: Kept) -> None:
    kept(30)
    for _ in range(5):
        all_at(session, Level.KICK_OFF)
        hands.forward(days=1)
    hands.forward(days=40)
    planned = plan_round(session, RoundKind.FIRST)
    assert planned.coming_back
    assert "Welcome back" in planned.note
    chances = [asked.chance for asked in planned.asked]
    assert min(chances) >= 0.4
    assert not any(character.isdigit() for character in planned.note)


@pytest.mark.parametrize("away", [25, 70, 400])
def test_coming_back_lasts_some_weeks_however_long_the_time_away(
    session: Session, hands: Hands, kept: Kept, away: int
) -> None:
    kept(30)
    all_at(session, Level.KICK_OFF)
    hands.forward(days=away)
    assert plan_round(session, RoundKind.FIRST).coming_back
    all_at(session, Level.FIND)
    hands.forward(days=3)
    assert plan_round(session, RoundKind.FIRST).coming_back
    hands.forward(days=10)
    all_at(session, Level.FIND)
    hands.forward(days=15)
    all_at(session, Level.FIND)
    hands.forward(days=15)
    all_at(session, Level.FIND)
    hands.forward(days=20)
    assert not plan_round(session, RoundKind.FIRST).coming_back


def test_what_was_just_seen_is_told_as_it_will_be_tomorrow(session: Session, kept: Kept) -> None:
    kept(1, declared=Declared.NEW)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    assert run.current is not None
    rated = rate(run, Level.SIT_OUT, seconds=20)
    assert rated.after < 0.8
    (row,) = tune_rows(session)
    assert row.chance.state is not State.SAFE


@pytest.mark.parametrize("level", [Level.SIT_OUT, Level.KICK_OFF])
def test_what_a_level_did_is_what_is_found_a_day_and_a_week_later(
    session: Session, hands: Hands, kept: Kept, level: Level
) -> None:
    kept(1)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    asked = run.current
    assert asked is not None
    told = rate(run, level, seconds=20)
    assert told.before == pytest.approx(asked.chance, abs=1e-6)
    for days, chance in ((1, told.after), (6, told.week)):
        hands.forward(days=days)
        strands = {
            view.strand: view.chance.chance for view in tune_view(session, asked.tune.uuid).strands
        }
        assert min(strands[strand] for strand in asked.strands) == pytest.approx(chance, abs=1e-6)


def test_a_check_from_the_jam_tells_what_it_did_as_of_now(
    session: Session, hands: Hands, kept: Kept
) -> None:
    (uuid,) = kept(1)
    evening = session.now()
    hands.forward(days=2)
    told = rate_away(session, uuid, {"A": Level.KICK_OFF}, evening)
    (check,) = session.repertoire.checks.all()
    assert (check.at, check.levels) == (evening, (("A", Level.KICK_OFF),))
    hands.forward(days=1)
    strands = {view.strand: view.chance.chance for view in tune_view(session, uuid).strands}
    assert strands["A"] == pytest.approx(told.after, abs=1e-6)
    assert told.after > told.week > told.before
    with pytest.raises(NotDoneError, match="no longer"):
        rate_away(session, "none", {"A": Level.KICK_OFF}, session.now())


def test_a_gap_marks_nothing_lost_by_itself(session: Session, hands: Hands, kept: Kept) -> None:
    kept(8)
    for _ in range(6):
        all_at(session, Level.KICK_OFF)
        hands.forward(days=4)
    hands.forward(days=35)
    assert State.LOST not in {row.chance.state for row in tune_rows(session)}


def test_a_check_at_the_jam_counts_from_its_own_time(
    session: Session, hands: Hands, kept: Kept
) -> None:
    (uuid,) = kept(1)
    earlier = session.now()
    hands.forward(hours=3)
    record_check_away(session, uuid, {"A": Level.KICK_OFF}, session.now())
    record_check_away(session, uuid, {"A": Level.SIT_OUT}, earlier)
    incremental = session.beliefs.of(uuid).to_bytes()
    assert differing(session) == 0
    rebuild(session)
    assert session.beliefs.of(uuid).to_bytes() == incremental


def test_checks_of_one_moment_count_in_the_order_they_were_made(
    session: Session, kept: Kept
) -> None:
    one, other = kept(2)
    at = session.now()
    levels = [Level.SIT_OUT, Level.KICK_OFF, Level.JOIN_IN, Level.KICK_OFF, Level.SIT_OUT]
    for level in levels:
        record_check_away(session, one, {"A": level}, at)
    for level in reversed(levels[:4]):
        record_check_away(session, other, {"A": level}, at)
    made = [(check.tune, *check.levels) for check in session.repertoire.checks.all()]
    assert made == [(one, ("A", level)) for level in levels] + [
        (other, ("A", level)) for level in reversed(levels[:4])
    ]
    assert (differing(session), rebuild(session)) == (0, 0)


def test_a_check_in_the_future_is_refused(session: Session, hands: Hands, kept: Kept) -> None:
    (uuid,) = kept(1)
    now = session.now()
    hands.forward(days=-1)
    with pytest.raises(NotDoneError, match="future"):
        record_check_away(session, uuid, {"A": Level.FIND}, now)
    assert session.repertoire.checks.all() == []


def test_a_strand_the_tune_lacks_is_refused(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    with pytest.raises(NotDoneError, match="no strand D"):
        record_check_away(session, uuid, {"D": Level.FIND}, session.now())


def test_a_clock_set_back_loses_nothing(session: Session, hands: Hands, kept: Kept) -> None:
    kept(3)
    all_at(session, Level.FIND)
    hands.forward(days=-3)
    all_at(session, Level.SIT_OUT)
    assert session.repertoire.checks.count() == 6
    assert differing(session) == 0


def test_a_check_from_before_the_tune_came_in_does_not_lose_it(
    session: Session, hands: Hands, kept: Kept
) -> None:
    (uuid,) = kept(1)
    before = tune_rows(session)[0].chance.chance
    record_check_away(session, uuid, {"key": Level.KICK_OFF, "A": Level.KICK_OFF},
                    session.now() - timedelta(days=2_000))  # fmt: skip
    assert tune_rows(session)[0].chance.chance >= before - 0.05
    assert differing(session) == 0


def test_a_clock_set_back_and_right_again_loses_no_tune(
    session: Session, hands: Hands, kept: Kept
) -> None:
    kept(3)
    all_at(session, Level.KICK_OFF)
    hands.forward(days=-400)
    all_at(session, Level.KICK_OFF)
    hands.forward(days=401)
    assert {row.chance.state for row in tune_rows(session)} == {State.SAFE}
    assert differing(session) == 0


def test_two_windows_on_one_file(session: Session, clock: Clock, kept: Kept) -> None:
    (uuid,) = kept(1)
    with open_session(session.path, clock) as other:
        assert other.beliefs.of(uuid).checks.sum() == 0
        record_check_away(session, uuid, {"A": Level.KICK_OFF}, session.now())
        record_check_away(other, uuid, {"A": Level.KICK_OFF}, other.now())
        assert other.beliefs.of(uuid).checks.sum() == 2
        assert differing(other) == 0
    assert session.changed_elsewhere()


def test_rebuild_gives_the_same_bits(session: Session, hands: Hands, kept: Kept) -> None:
    kept(10)
    for level in (Level.KICK_OFF, Level.SIT_OUT, Level.JOIN_IN, Level.FIND):
        all_at(session, level)
        hands.forward(days=1, hours=2)
    before = session.repertoire.beliefs.all()
    assert len(before) == 10
    assert rebuild(session) == 0
    assert session.repertoire.beliefs.all() == before


def test_practice_day_ends_at_four(session: Session, hands: Hands, kept: Kept) -> None:
    kept(1)
    hands.forward(hours=8)
    assert hands.moment.hour == 3
    all_at(session, Level.FIND)
    (check,) = session.repertoire.checks.all()
    assert check.day == date(2026, 11, 24)


def test_a_name_is_a_strand_of_its_own(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    check = record_check_away(session, uuid, {NAME: Level.SIT_OUT}, session.now())
    assert check.prompt is Prompt.WHAT
