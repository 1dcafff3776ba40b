"""A day leads through first round, practice and last round, and resumes where it was left."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tests.playing import rate
from tunememory.clock import Clock
from tunememory.dates import agenda
from tunememory.dates.changing import DateDraft, add_day_off, save_date
from tunememory.dates.played import played_there
from tunememory.dates.readiness import all_dates
from tunememory.errors import NotDoneError
from tunememory.practice.sitting import (
    LONGEST_GAP,
    asks_minutes,
    close_day,
    go_to_step,
    log_minutes,
    minutes_today,
    pick_up_today,
    set_head_only,
    set_pick_up,
    stop_for_pain,
)
from tunememory.practice.today import today_view
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Level, RoundKind
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun, sitting_of
from tunememory.session import Session, open_session
from tunememory.store.records import At, Sitting

Kept = Callable[..., list[str]]


def play(session: Session, kind: RoundKind, level: Level = Level.FIND, most: int = 99) -> None:
    run = RoundRun.begin(session, plan_round(session, kind))
    while run.current is not None and run.done < most:
        rate(run, level, seconds=2.0)
    run.stop()


def test_a_new_day_begins_with_the_first_round(session: Session, kept: Kept) -> None:
    kept(5)
    assert sitting_of(session) == Sitting(session.day())
    now = today_view(session)
    assert (now.sitting, now.pick_up) == (Sitting(session.day()), "")
    assert [step.kind for step in now.steps] == [RoundKind.FIRST, RoundKind.LAST]
    assert session.repertoire.sittings.on(session.day()) is None  # looking writes nothing


def test_each_step_done_leads_to_the_next(session: Session, kept: Kept, clock: Clock) -> None:
    kept(5)
    play(session, RoundKind.FIRST, Level.SIT_OUT)
    assert sitting_of(session).step is At.PRACTICE
    with open_session(session.path, clock) as other:
        assert sitting_of(other).step is At.PRACTICE  # left and come back to
        assert today_view(other).sitting.step is At.PRACTICE
    go_to_step(session, At.LAST)
    assert sitting_of(session).step is At.LAST
    play(session, RoundKind.LAST)
    assert sitting_of(session).step is At.OVER


def test_a_round_left_at_once_does_not_count_as_done(session: Session, kept: Kept) -> None:
    kept(5)
    play(session, RoundKind.FIRST, most=0)
    assert sitting_of(session).step is At.FIRST
    assert [step.done for step in today_view(session).steps] == [False, False]
    assert (
        plan_round(session, RoundKind.FIRST, minutes=0.5).minutes
        < plan_round(session, RoundKind.FIRST).minutes
    )


def test_a_round_left_before_its_end_goes_on_with_what_is_left(
    session: Session, kept: Kept, hands: Any
) -> None:
    kept(30)
    asked: list[str] = []
    planned = plan_round(session, RoundKind.FIRST)
    whole = len(planned.asked)
    assert 5 < whole < 30  # the minutes end the round, not the repertoire
    for _ in range(whole):
        run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
        assert run.current is not None
        assert run.left == whole - len(asked)
        asked.append(run.current.tune.uuid)
        hands.forward(seconds=25)
        rate(run, Level.FIND, seconds=2.0)
        run.stop()
        first = today_view(session).steps[0]
        if len(asked) < whole:
            assert (first.done, first.asked) == (False, len(asked))
            assert first.prompts == whole - len(asked)
            assert sitting_of(session).step is today_view(session).sitting.step is At.FIRST
    assert len(set(asked)) == whole  # nothing was asked twice
    assert first.done
    assert first.prompts  # more if the player likes
    assert sitting_of(session).step is At.PRACTICE


def test_a_last_round_left_before_its_end_goes_on_too(session: Session, kept: Kept) -> None:
    kept(5)
    play(session, RoundKind.FIRST, Level.SIT_OUT)
    play(session, RoundKind.LAST, most=2)
    last = today_view(session).steps[1]
    assert (last.done, last.asked, last.prompts) == (False, 2, 3)
    assert sitting_of(session).step is At.PRACTICE
    play(session, RoundKind.LAST)
    assert today_view(session).steps[1].done
    assert sitting_of(session).step is At.OVER


def test_a_round_is_done_when_nothing_is_left_to_ask(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    play(session, RoundKind.FIRST, most=1)
    asked = {check.tune for check in session.repertoire.checks.all()}
    for uuid in set(uuids) - asked:
        session.repertoire.rounds.put_off(uuid, session.day())
    first = today_view(session).steps[0]
    assert (first.done, first.asked, first.prompts) == (True, 1, 0)


def test_practice_counts_as_practised_and_playing_out_does_not(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    save_date(session, DateDraft(session.day().isoformat(), "Dance", tunes=tuple(uuids)))
    (dance,) = all_dates(session)
    played_there(session, dance.dated.uuid, session.day(), uuids)
    assert not today_view(session).practised
    log_practice(session, uuids[0], "scale", 4.0)
    assert today_view(session).practised
    hands.forward(days=1)
    assert not today_view(session).practised


def test_a_loose_round_or_a_second_first_round_moves_nothing(session: Session, kept: Kept) -> None:
    kept(12)
    play(session, RoundKind.LOOSE, most=2)
    assert sitting_of(session).step is At.FIRST
    go_to_step(session, At.LAST)
    play(session, RoundKind.FIRST, most=2)
    assert sitting_of(session).step is At.LAST


def test_any_step_can_be_skipped_and_gone_back_to(session: Session, kept: Kept) -> None:
    kept(3)
    for step in (At.LAST, At.FIRST, At.OVER, At.PRACTICE):
        go_to_step(session, step)
        assert sitting_of(session).step is step


def test_the_closing_line_is_the_next_days_first(session: Session, kept: Kept, hands: Any) -> None:
    kept(3)
    day = session.day()
    close_day(session, "  B part of the new one:\n phrase 3 ")
    assert pick_up_today(session) == "B part of the new one: phrase 3"
    closed = today_view(session)
    assert (closed.sitting.closed, closed.sitting.step, closed.pick_up) == (True, At.OVER, "")
    hands.forward(days=3)
    later = today_view(session)
    assert (later.pick_up, later.pick_up_day) == ("B part of the new one: phrase 3", day)
    assert (later.sitting.step, later.sitting.closed) == (At.FIRST, False)


def test_closing_without_a_line_keeps_the_one_written_before(session: Session, kept: Kept) -> None:
    kept(3)
    set_pick_up(session, "the turn")
    close_day(session)
    assert pick_up_today(session) == "the turn"
    set_pick_up(session, "")
    assert pick_up_today(session) == ""


def test_a_closed_day_can_be_opened_again(session: Session, kept: Kept) -> None:
    kept(3)
    close_day(session, "x")
    go_to_step(session, At.PRACTICE)
    opened = sitting_of(session)
    assert (opened.closed_at, opened.step, pick_up_today(session)) == (None, At.PRACTICE, "x")


def test_stopping_for_pain_ends_it_and_keeps_everything(session: Session, kept: Kept) -> None:
    kept(5)
    play(session, RoundKind.FIRST, most=2)
    stop_for_pain(session, 6.5)
    sitting = sitting_of(session)
    assert (sitting.stopped, sitting.step) == (True, At.OVER)
    assert sitting.closed_at is not None
    assert minutes_today(session).instrument == 6.5
    assert len(session.repertoire.checks.all()) == 2
    go_to_step(session, At.PRACTICE)
    assert not sitting_of(session).stopped
    stop_for_pain(session, 9999.0)  # the clock had been left running
    assert sitting_of(session).stopped


def test_minutes_with_the_instrument_and_in_the_head_are_apart(
    session: Session, kept: Kept
) -> None:
    (uuid, *_) = kept(3)
    log_practice(session, uuid, "scale", 4.0)
    log_minutes(session, 2.0)
    assert set_head_only(session, on=True)
    assert sitting_of(session).head_only
    log_practice(session, uuid, "sing", 3.0)
    log_practice(session, uuid, "scale", 1.0, head_only=False)
    log_minutes(session, 0.5)
    minutes = minutes_today(session)
    assert (minutes.instrument, minutes.head) == (7.0, 3.5)


def test_minutes_of_rounds_leave_out_the_time_away(
    session: Session, kept: Kept, hands: Any
) -> None:
    kept(3)
    run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
    for seconds in (10, 20, 3600):
        hands.forward(seconds=seconds)
        assert run.current is not None
        rate(run, Level.FIND, seconds=2.0)
    run.stop()
    assert minutes_today(session).rounds == pytest.approx((30 + LONGEST_GAP) / 60, abs=0.01)


@pytest.mark.parametrize("minutes", [-1.0, float("nan"), 1441.0, float("inf")])
def test_minutes_that_make_no_sense_are_refused(
    session: Session, kept: Kept, minutes: float
) -> None:
    (uuid,) = kept(1)
    with pytest.raises(NotDoneError, match="minutes"):
        log_minutes(session, minutes)
    with pytest.raises(NotDoneError, match="minutes"):
        log_practice(session, uuid, "scale", minutes)
    assert session.repertoire.practices.all() == []


def test_after_a_long_time_away_minutes_are_asked_first(
    session: Session, kept: Kept, hands: Any
) -> None:
    kept(6)
    play(session, RoundKind.FIRST)
    assert not asks_minutes(session)
    hands.forward(days=40)
    assert asks_minutes(session)
    assert today_view(session).coming_back
    play(session, RoundKind.FIRST)
    assert not asks_minutes(session)


def test_practice_alone_is_no_time_away(session: Session, kept: Kept, hands: Any) -> None:
    (uuid, *_) = kept(6)
    play(session, RoundKind.FIRST)
    for _ in range(5):
        hands.forward(days=9)
        log_practice(session, uuid, "scale", 5.0)
    assert not asks_minutes(session)


def test_a_day_off_and_the_eve_of_a_date_are_told(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(6)
    add_day_off(session, session.day().isoformat(), "the sea")
    assert agenda.is_off(session)
    assert "day off" in today_view(session).note
    tomorrow = session.day() + timedelta(days=2)
    save_date(session, DateDraft(tomorrow.isoformat(), "Festival", tunes=tuple(uuids[:2])))
    hands.forward(days=1)
    assert (agenda.is_off(session), agenda.is_eve(session)) == (False, True)
    assert "head" in today_view(session).note
    # The day for heads is held so unless the player says otherwise.
    assert sitting_of(session).head_only
    assert today_view(session).sitting.head_only
    assert not set_head_only(session, on=False)
    assert not sitting_of(session).head_only
