"""A day leads through first round, practice and last round, and resumes where it was left."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tunememory.clock import Clock
from tunememory.dates.changing import DateDraft
from tunememory.errors import NotDoneError
from tunememory.practice.sitting import LONGEST_GAP
from tunememory.recall.check import Level, RoundKind
from tunememory.service.desk import Desk, open_desk
from tunememory.store.records import At

Kept = Callable[..., list[str]]


def play(desk: Desk, kind: RoundKind, level: Level = Level.FIND, most: int = 99) -> None:
    run = desk.begin(desk.plan(kind))
    while run.current is not None and run.done < most:
        run.rate(dict.fromkeys(run.current.strands, level), seconds=2.0)
    run.stop()


def test_a_new_day_begins_with_the_first_round(desk: Desk, kept: Kept) -> None:
    kept(5)
    now = desk.sitting()
    assert (now.at, now.closed, now.head_only, now.pick_up) == (At.FIRST, False, False, "")
    assert [step.kind for step in now.steps] == [RoundKind.FIRST, RoundKind.LAST]
    assert desk.repertoire.sitting(desk.day()) is None  # looking writes nothing


def test_each_step_done_leads_to_the_next(desk: Desk, kept: Kept, clock: Clock) -> None:
    kept(5)
    play(desk, RoundKind.FIRST, Level.SIT_OUT)
    assert desk.sitting().at is At.PRACTICE
    with open_desk(desk.path, clock) as other:
        assert other.sitting().at is At.PRACTICE  # left and come back to
        assert other.today().at is At.PRACTICE
    assert desk.go_to(At.LAST).at is At.LAST
    play(desk, RoundKind.LAST)
    assert desk.sitting().at is At.OVER


def test_a_round_left_at_once_does_not_count_as_done(desk: Desk, kept: Kept) -> None:
    kept(5)
    play(desk, RoundKind.FIRST, most=0)
    assert desk.sitting().at is At.FIRST
    assert [step.done for step in desk.today().steps] == [False, False]
    assert desk.plan(RoundKind.FIRST, minutes=0.5).minutes < desk.plan(RoundKind.FIRST).minutes


def test_a_round_left_before_its_end_goes_on_with_what_is_left(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    kept(30)
    asked: list[str] = []
    planned = desk.plan(RoundKind.FIRST)
    whole = len(planned.asked)
    assert 5 < whole < 30  # the minutes end the round, not the repertoire
    for _ in range(whole):
        run = desk.begin(desk.plan(RoundKind.FIRST))
        assert run.current is not None
        assert run.left == whole - len(asked)
        asked.append(run.current.tune.uuid)
        hands.forward(seconds=25)
        run.rate(dict.fromkeys(run.current.strands, Level.FIND), seconds=2.0)
        run.stop()
        first = desk.today().steps[0]
        if len(asked) < whole:
            assert (first.done, first.asked) == (False, len(asked))
            assert first.prompts == whole - len(asked)
            assert (desk.sitting().at, desk.today().at) == (At.FIRST, At.FIRST)
    assert len(set(asked)) == whole  # nothing was asked twice
    assert first.done
    assert first.prompts  # more if the player likes
    assert desk.sitting().at is At.PRACTICE


def test_a_last_round_left_before_its_end_goes_on_too(desk: Desk, kept: Kept) -> None:
    kept(5)
    play(desk, RoundKind.FIRST, Level.SIT_OUT)
    play(desk, RoundKind.LAST, most=2)
    last = desk.today().steps[1]
    assert (last.done, last.asked, last.prompts) == (False, 2, 3)
    assert desk.sitting().at is At.PRACTICE
    play(desk, RoundKind.LAST)
    assert desk.today().steps[1].done
    assert desk.sitting().at is At.OVER


def test_a_round_is_done_when_nothing_is_left_to_ask(desk: Desk, kept: Kept) -> None:
    uuids = kept(3)
    play(desk, RoundKind.FIRST, most=1)
    asked = {check.tune for check in desk.repertoire.checks()}
    for uuid in set(uuids) - asked:
        desk.repertoire.put_off(uuid, desk.day())
    first = desk.today().steps[0]
    assert (first.done, first.asked, first.prompts) == (True, 1, 0)


def test_practice_counts_as_practised_and_playing_out_does_not(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    desk.save_date(DateDraft(desk.day().isoformat(), "Dance", tunes=tuple(uuids)))
    (dance,) = desk.all_dates()
    desk.played_there(dance.uuid, desk.day(), uuids)
    assert not desk.today().practised
    desk.log_practice(uuids[0], "scale", 4.0)
    assert desk.today().practised
    hands.forward(days=1)
    assert not desk.today().practised


def test_a_loose_round_or_a_second_first_round_moves_nothing(desk: Desk, kept: Kept) -> None:
    kept(12)
    play(desk, RoundKind.LOOSE, most=2)
    assert desk.sitting().at is At.FIRST
    desk.go_to(At.LAST)
    play(desk, RoundKind.FIRST, most=2)
    assert desk.sitting().at is At.LAST


def test_any_step_can_be_skipped_and_gone_back_to(desk: Desk, kept: Kept) -> None:
    kept(3)
    for step in (At.LAST, At.FIRST, At.OVER, At.PRACTICE):
        assert desk.go_to(step).at is step


def test_the_closing_line_is_the_next_days_first(desk: Desk, kept: Kept, hands: Any) -> None:
    kept(3)
    day = desk.day()
    closed = desk.close_day("  B part of the new one:\n phrase 3 ")
    assert (closed.closed, closed.at) == (True, At.OVER)
    assert closed.own_pick_up == "B part of the new one: phrase 3"
    assert closed.pick_up == ""
    assert desk.today().closed
    hands.forward(days=3)
    later = desk.today()
    assert (later.pick_up, later.pick_up_day) == ("B part of the new one: phrase 3", day)
    assert (later.at, later.closed) == (At.FIRST, False)


def test_closing_without_a_line_keeps_the_one_written_before(desk: Desk, kept: Kept) -> None:
    kept(3)
    desk.set_pick_up("the turn")
    assert desk.close_day().own_pick_up == "the turn"
    desk.set_pick_up("")
    assert desk.sitting().own_pick_up == ""


def test_a_closed_day_can_be_opened_again(desk: Desk, kept: Kept) -> None:
    kept(3)
    desk.close_day("x")
    opened = desk.go_to(At.PRACTICE)
    assert (opened.closed, opened.at, opened.own_pick_up) == (False, At.PRACTICE, "x")


def test_stopping_for_pain_ends_it_and_keeps_everything(desk: Desk, kept: Kept) -> None:
    kept(5)
    play(desk, RoundKind.FIRST, most=2)
    stopped = desk.stop_for_pain(6.5)
    assert (stopped.stopped, stopped.closed, stopped.at) == (True, True, At.OVER)
    assert stopped.minutes.instrument == 6.5
    assert len(desk.repertoire.checks()) == 2
    again = desk.go_to(At.PRACTICE)
    assert not again.stopped
    assert desk.stop_for_pain(9999.0).stopped  # the clock had been left running


def test_minutes_with_the_instrument_and_in_the_head_are_apart(desk: Desk, kept: Kept) -> None:
    (uuid, *_) = kept(3)
    desk.log_practice(uuid, "scale", 4.0)
    desk.practised(2.0)
    assert desk.set_head_only(True).head_only
    desk.log_practice(uuid, "sing", 3.0)
    desk.log_practice(uuid, "scale", 1.0, head_only=False)
    desk.practised(0.5)
    minutes = desk.sitting().minutes
    assert (minutes.instrument, minutes.head) == (7.0, 3.5)


def test_minutes_of_rounds_leave_out_the_time_away(desk: Desk, kept: Kept, hands: Any) -> None:
    kept(3)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    for seconds in (10, 20, 3600):
        hands.forward(seconds=seconds)
        assert run.current is not None
        run.rate(dict.fromkeys(run.current.strands, Level.FIND), seconds=2.0)
    run.stop()
    assert desk.sitting().minutes.rounds == pytest.approx((30 + LONGEST_GAP) / 60, abs=0.01)


@pytest.mark.parametrize("minutes", [-1.0, float("nan"), 1441.0, float("inf")])
def test_minutes_that_make_no_sense_are_refused(desk: Desk, kept: Kept, minutes: float) -> None:
    (uuid,) = kept(1)
    with pytest.raises(NotDoneError, match="minutes"):
        desk.practised(minutes)
    with pytest.raises(NotDoneError, match="minutes"):
        desk.log_practice(uuid, "scale", minutes)
    assert desk.repertoire.practices() == []


def test_after_a_long_time_away_minutes_are_asked_first(desk: Desk, kept: Kept, hands: Any) -> None:
    kept(6)
    play(desk, RoundKind.FIRST)
    assert not desk.sitting().asks_minutes
    hands.forward(days=40)
    back = desk.sitting()
    assert back.asks_minutes
    assert desk.today().coming_back
    play(desk, RoundKind.FIRST)
    assert not desk.sitting().asks_minutes


def test_practice_alone_is_no_time_away(desk: Desk, kept: Kept, hands: Any) -> None:
    (uuid, *_) = kept(6)
    play(desk, RoundKind.FIRST)
    for _ in range(5):
        hands.forward(days=9)
        desk.log_practice(uuid, "scale", 5.0)
    assert not desk.sitting().asks_minutes


def test_a_day_off_and_the_eve_of_a_date_are_told(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(6)
    desk.add_day_off(desk.day().isoformat(), "the sea")
    assert desk.sitting().off
    assert "day off" in desk.today().note
    tomorrow = desk.day() + timedelta(days=2)
    desk.save_date(DateDraft(tomorrow.isoformat(), "Festival", tunes=tuple(uuids[:2])))
    hands.forward(days=1)
    now = desk.sitting()
    assert (now.off, now.eve) == (False, True)
    assert "head" in desk.today().note
    # The day for heads is held so unless the player says otherwise.
    assert desk.sitting().head_only
    assert desk.today().head_only
    assert not desk.set_head_only(False).head_only
    assert not desk.sitting().head_only
