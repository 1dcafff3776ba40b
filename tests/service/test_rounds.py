from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tunememory.clock import Clock
from tunememory.service.desk import Desk, open_desk
from tunememory.service.errors import ServiceError
from tunememory.service.remembering import differing, rebuild
from tunememory.service.views import State
from tunememory.tunes.check import NAME, Level, Prompt, RoundKind
from tunememory.tunes.tune import Declared, Status

Kept = Callable[..., list[str]]
Hands = Any


def all_at(desk: Desk, level: Level, kind: RoundKind = RoundKind.FIRST) -> list[str]:
    """Play a whole round at one level; return the tunes asked, in order."""
    run = desk.begin(desk.plan(kind))
    asked = []
    while run.current is not None:
        asked.append(run.current.tune.uuid)
        run.rate(dict.fromkeys(run.current.strands, level), seconds=3.0)
    run.stop()
    return asked


def test_a_rating_is_on_disk_before_the_next_prompt(desk: Desk, clock: Clock, kept: Kept) -> None:
    kept(6)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    first = run.current
    assert first is not None
    run.rate(dict.fromkeys(first.strands, Level.FIND), seconds=2.5)
    with open_desk(desk.path, clock) as other:
        (check,) = other.repertoire.checks()
        assert check.tune == first.tune.uuid
        assert dict(check.levels) == dict.fromkeys(first.strands, Level.FIND)
        assert check.seconds == 2.5
        assert (
            other.remembered.of(check.tune).to_bytes() == desk.remembered.of(check.tune).to_bytes()
        )


def test_a_tune_taken_out_in_another_window_cannot_be_rated(
    desk: Desk, clock: Clock, kept: Kept
) -> None:
    kept(6)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    first = run.current
    assert first is not None
    with open_desk(desk.path, clock) as other:
        other.remove(first.tune.uuid)
    with pytest.raises(ServiceError, match="no longer in this repertoire"):
        run.rate(dict.fromkeys(first.strands, Level.FIND), seconds=2.5)
    assert desk.repertoire.checks() == []
    run.skip()
    assert run.current is not None
    run.rate(dict.fromkeys(run.current.strands, Level.FIND), seconds=2.5)


def test_a_round_asks_each_tune_once_and_ends(desk: Desk, kept: Kept) -> None:
    kept(8)
    asked = all_at(desk, Level.KICK_OFF)
    assert len(asked) == len(set(asked)) == 8
    assert [past.ended_at is not None for past in desk.repertoire.rounds(desk.day())] == [True]
    assert desk.plan(RoundKind.FIRST).asked == ()


def test_what_would_not_come_is_asked_in_the_last_round(
    desk: Desk, hands: Hands, kept: Kept
) -> None:
    kept(5)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    failed = run.current
    assert failed is not None
    run.rate(dict.fromkeys(failed.strands, Level.SIT_OUT), seconds=9)
    while run.current is not None:
        run.rate(dict.fromkeys(run.current.strands, Level.KICK_OFF), seconds=2)
    run.stop()
    hands.forward(minutes=30)
    last = desk.plan(RoundKind.LAST)
    assert [asked.tune.uuid for asked in last.asked] == [failed.tune.uuid]
    all_at(desk, Level.FIND, RoundKind.LAST)
    assert desk.plan(RoundKind.LAST).asked == ()


def test_tomorrow_follows_from_today(desk: Desk, hands: Hands, kept: Kept) -> None:
    uuids = kept(40, starts=())
    today = all_at(desk, Level.KICK_OFF)
    hands.forward(days=1)
    tomorrow = [asked.tune.uuid for asked in desk.plan(RoundKind.FIRST).asked]
    assert tomorrow
    assert set(tomorrow) <= set(uuids)
    assert not set(tomorrow) & set(today)


def test_the_plan_is_the_same_for_the_same_file_and_clock(
    desk: Desk, clock: Clock, kept: Kept
) -> None:
    kept(20)
    fixed = desk.now()
    still = Clock(lambda: fixed, clock.zone)
    with open_desk(desk.path, still) as one, open_desk(desk.path, still) as other:
        assert one.plan(RoundKind.FIRST) == other.plan(RoundKind.FIRST)


def test_undo_takes_the_rating_back_and_asks_again(desk: Desk, kept: Kept) -> None:
    kept(4)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    first = run.current
    assert first is not None
    before = desk.remembered.of(first.tune.uuid).to_bytes()
    run.rate(dict.fromkeys(first.strands, Level.SIT_OUT), seconds=1)
    assert run.undo()
    assert run.current == first
    assert desk.remembered.of(first.tune.uuid).to_bytes() == before
    assert desk.repertoire.checks() == []
    assert first.tune.uuid not in desk.last_met
    assert not run.undo()


def test_a_hint_caps_the_level(desk: Desk, kept: Kept) -> None:
    kept(1)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    assert run.current is not None
    run.rate(dict.fromkeys(run.current.strands, Level.KICK_OFF), seconds=1, hints=1)
    (check,) = desk.repertoire.checks()
    assert {level for _, level in check.levels} == {Level.JOIN_IN}


def test_strands_can_be_rated_apart(desk: Desk, kept: Kept) -> None:
    kept(1)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    asked = run.current
    assert asked is not None
    assert asked.prompt is Prompt.HOW
    run.rate({"key": Level.KICK_OFF, "A": Level.KICK_OFF, "B": Level.SIT_OUT}, seconds=1)
    strands = {s.strand: s.chance.chance for s in desk.view(asked.tune.uuid).strands}
    assert strands["B"] < strands["A"]


def test_skip_not_today_only_kind_and_surprise(desk: Desk, kept: Kept) -> None:
    kept(6)
    kept(6, kind="jig")
    run = desk.begin(desk.plan(RoundKind.FIRST, minutes=1.0))
    first = run.current
    assert first is not None
    run.skip()
    assert run.current != first
    left = run.left
    second = run.current
    assert second is not None
    run.not_today()
    assert run.left == left
    assert second.tune.uuid in desk.repertoire.put_off_on(desk.day())
    third = run.current
    run.surprise()
    assert run.current != third
    assert run.left == left
    run.only_kind("jig")
    assert run.current is not None
    assert run.current.tune.kind == "jig"
    assert run.left >= 3
    run.stop()
    assert second.tune.uuid not in {a.tune.uuid for a in desk.plan(RoundKind.FIRST).asked}


def test_names_are_asked_too(desk: Desk, hands: Hands, kept: Kept) -> None:
    kept(6)
    prompts = set()
    for _ in range(20):
        planned = desk.plan(RoundKind.FIRST)
        prompts |= {asked.prompt for asked in planned.asked}
        run = desk.begin(planned)
        while run.current is not None:
            run.rate(dict.fromkeys(run.current.strands, Level.KICK_OFF), seconds=2)
        run.stop()
        hands.forward(days=1)
    assert prompts == {Prompt.HOW, Prompt.WHAT}


def test_wanted_and_resting_tunes_are_not_asked(desk: Desk, kept: Kept) -> None:
    kept(2, status=Status.WANTED)
    kept(2, status=Status.RESTING)
    assert desk.plan(RoundKind.FIRST).asked == ()


def test_coming_back_after_the_summer(desk: Desk, hands: Hands, kept: Kept) -> None:
    kept(30)
    for _ in range(5):
        all_at(desk, Level.KICK_OFF)
        hands.forward(days=1)
    hands.forward(days=40)
    planned = desk.plan(RoundKind.FIRST)
    assert planned.coming_back
    assert "Welcome back" in planned.note
    chances = [asked.chance for asked in planned.asked]
    assert min(chances) >= 0.4
    assert not any(character.isdigit() for character in planned.note)


@pytest.mark.parametrize("away", [25, 70, 400])
def test_coming_back_lasts_some_weeks_however_long_the_time_away(
    desk: Desk, hands: Hands, kept: Kept, away: int
) -> None:
    kept(30)
    all_at(desk, Level.KICK_OFF)
    hands.forward(days=away)
    assert desk.plan(RoundKind.FIRST).coming_back
    all_at(desk, Level.FIND)
    hands.forward(days=3)
    assert desk.plan(RoundKind.FIRST).coming_back
    hands.forward(days=10)
    all_at(desk, Level.FIND)
    hands.forward(days=15)
    all_at(desk, Level.FIND)
    hands.forward(days=15)
    all_at(desk, Level.FIND)
    hands.forward(days=20)
    assert not desk.plan(RoundKind.FIRST).coming_back


def test_what_was_just_seen_is_told_as_it_will_be_tomorrow(desk: Desk, kept: Kept) -> None:
    kept(1, declared=Declared.NEW)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    assert run.current is not None
    rated = run.rate(dict.fromkeys(run.current.strands, Level.SIT_OUT), seconds=20)
    assert rated.after < 0.8
    (row,) = desk.rows()
    assert row.chance.state is not State.SAFE


def test_the_chance_of_a_prompt_is_that_of_its_weakest_strand(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    yesterday = desk.now() - timedelta(days=3)
    desk.check_away(
        uuid, {"key": Level.KICK_OFF, "A": Level.KICK_OFF, "B": Level.SIT_OUT}, yesterday
    )
    (asked,) = desk.plan(RoundKind.FIRST).asked
    strands = {strand.strand: strand.chance.chance for strand in desk.view(uuid).strands}
    assert asked.chance == pytest.approx(min(strands[strand] for strand in asked.strands))


def test_a_gap_marks_nothing_lost_by_itself(desk: Desk, hands: Hands, kept: Kept) -> None:
    kept(8)
    for _ in range(6):
        all_at(desk, Level.KICK_OFF)
        hands.forward(days=4)
    hands.forward(days=35)
    assert State.LOST not in {row.chance.state for row in desk.rows()}


def test_a_check_at_the_jam_counts_from_its_own_time(desk: Desk, hands: Hands, kept: Kept) -> None:
    (uuid,) = kept(1)
    earlier = desk.now()
    hands.forward(hours=3)
    desk.check_away(uuid, {"A": Level.KICK_OFF}, desk.now())
    desk.check_away(uuid, {"A": Level.SIT_OUT}, earlier)
    incremental = desk.remembered.of(uuid).to_bytes()
    assert differing(desk) == 0
    rebuild(desk)
    assert desk.remembered.of(uuid).to_bytes() == incremental


def test_a_check_in_the_future_is_refused(desk: Desk, hands: Hands, kept: Kept) -> None:
    (uuid,) = kept(1)
    now = desk.now()
    hands.forward(days=-1)
    with pytest.raises(ServiceError, match="future"):
        desk.check_away(uuid, {"A": Level.FIND}, now)
    assert desk.repertoire.checks() == []


def test_a_strand_the_tune_lacks_is_refused(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    with pytest.raises(ServiceError, match="no strand D"):
        desk.check_away(uuid, {"D": Level.FIND}, desk.now())


def test_a_clock_set_back_loses_nothing(desk: Desk, hands: Hands, kept: Kept) -> None:
    kept(3)
    all_at(desk, Level.FIND)
    hands.forward(days=-3)
    all_at(desk, Level.SIT_OUT)
    assert desk.repertoire.check_count() == 6
    assert differing(desk) == 0


def test_a_check_from_before_the_tune_came_in_does_not_lose_it(
    desk: Desk, hands: Hands, kept: Kept
) -> None:
    (uuid,) = kept(1)
    before = desk.rows()[0].chance.chance
    desk.check_away(uuid, {"key": Level.KICK_OFF, "A": Level.KICK_OFF},
                    desk.now() - timedelta(days=2_000))  # fmt: skip
    assert desk.rows()[0].chance.chance >= before - 0.05
    assert differing(desk) == 0


def test_a_clock_set_back_and_right_again_loses_no_tune(
    desk: Desk, hands: Hands, kept: Kept
) -> None:
    kept(3)
    all_at(desk, Level.KICK_OFF)
    hands.forward(days=-400)
    all_at(desk, Level.KICK_OFF)
    hands.forward(days=401)
    assert {row.chance.state for row in desk.rows()} == {State.SAFE}
    assert differing(desk) == 0


def test_two_windows_on_one_file(desk: Desk, clock: Clock, kept: Kept) -> None:
    (uuid,) = kept(1)
    with open_desk(desk.path, clock) as other:
        assert other.remembered.of(uuid).checks.sum() == 0
        desk.check_away(uuid, {"A": Level.KICK_OFF}, desk.now())
        other.check_away(uuid, {"A": Level.KICK_OFF}, other.now())
        assert other.remembered.of(uuid).checks.sum() == 2
        assert differing(other) == 0
    assert desk.changed_elsewhere()


def test_rebuild_gives_the_same_bits(desk: Desk, hands: Hands, kept: Kept) -> None:
    kept(10)
    for level in (Level.KICK_OFF, Level.SIT_OUT, Level.JOIN_IN, Level.FIND):
        all_at(desk, level)
        hands.forward(days=1, hours=2)
    before = desk.repertoire.beliefs()
    assert len(before) == 10
    assert rebuild(desk) == 0
    assert desk.repertoire.beliefs() == before


def test_practice_day_ends_at_four(desk: Desk, hands: Hands, kept: Kept) -> None:
    kept(1)
    hands.forward(hours=8)
    assert hands.moment.hour == 3
    all_at(desk, Level.FIND)
    (check,) = desk.repertoire.checks()
    assert check.day == date(2026, 11, 24)


def test_a_name_is_a_strand_of_its_own(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    check = desk.check_away(uuid, {NAME: Level.SIT_OUT}, desk.now())
    assert check.prompt is Prompt.WHAT


def test_a_full_file_keeps_the_prompt(desk: Desk, kept: Kept, tmp_path: Path) -> None:
    kept(3)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    first = run.current
    assert first is not None
    pages = desk.repertoire.connection.execute("PRAGMA page_count").fetchone()[0]
    desk.repertoire.connection.execute(f"PRAGMA max_page_count = {pages}")
    for _ in range(500):
        asked, left = run.current, run.left
        assert asked is not None
        try:
            run.rate(dict.fromkeys(asked.strands, Level.FIND), seconds=1)
            asked, left = run.current, run.left
            run.undo()
        except ServiceError:
            break
    else:
        pytest.fail("the file never became full")
    assert (run.current, run.left) == (asked, left)
    assert differing(desk) == 0
