"""Dates from words: how ready they find the player, what they do to the plan, what was played."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import date, timedelta
from statistics import fmean
from typing import Any

import pytest

from tunememory.dates.changing import DateDraft
from tunememory.dates.readiness import Readiness
from tunememory.errors import NotDoneError
from tunememory.music.tune import Status
from tunememory.recall.check import Level, RoundKind
from tunememory.service.desk import Desk
from tunememory.session import differing, rebuild

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def test_a_date_from_words_and_back(desk: Desk, kept: Kept) -> None:
    uuids = kept(3)
    made = desk.save_set("Low Tide", uuids[:2])
    draft = DateDraft(
        "every Thursday except 24 December", "Kitchen session", "Session", "the kitchen",
        (uuids[2],), (made.uuid,), 5,
    )  # fmt: skip
    view = desk.save_date(draft)
    assert (view.on, view.days, view.wanted) == (date(2026, 11, 26), 2, 3)
    assert (view.kind, view.sets) == ("session", ("Low Tide",))
    typed = desk.date_draft(view.uuid)
    assert typed == DateDraft(view.when, "Kitchen session", "session", "the kitchen",
                              (uuids[2],), (made.uuid,), 5)  # fmt: skip
    kept_before = desk.dates[view.uuid]
    desk.save_date(typed, view.uuid)
    assert desk.dates[view.uuid] == kept_before


def test_an_edit_that_leaves_the_words_keeps_the_past_days(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    kept(1)
    view = desk.save_date(DateDraft("every second Thursday", "Session"))
    first = desk.dates[view.uuid].first_day
    hands.forward(days=30)
    draft = desk.date_draft(view.uuid)
    desk.save_date(DateDraft(draft.when, "Late session"), view.uuid)
    assert desk.dates[view.uuid].first_day == first
    assert desk.dates[view.uuid].title == "Late session"


def test_what_is_typed_is_read_back_before_it_is_kept(desk: Desk) -> None:
    words, days = desk.preview_when("second saturday of the month")
    assert words == "second Saturday of the month"
    assert days == (date(2026, 12, 12), date(2027, 1, 9), date(2027, 2, 13), date(2027, 3, 13))
    with pytest.raises(NotDoneError) as refused:
        desk.preview_when("when the moon is new")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("draft", "says"),
    [
        (DateDraft("every Thursday"), "needs a name"),
        (DateDraft("someday", "x"), "someday"),
        (DateDraft("+3d", "x", weeks_before=60), "season"),
        (DateDraft("+3d", "x", tunes=("gone",)), "no longer"),
        (DateDraft("+3d", "x", sets=("gone",)), "no longer"),
    ],
)
def test_what_is_no_date_is_refused(desk: Desk, draft: DateDraft, says: str) -> None:
    with pytest.raises(NotDoneError, match=says):
        desk.save_date(draft)
    assert desk.all_dates() == ()


def test_dates_that_come_stand_before_those_that_are_over(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    kept(1)
    for when, title in (("+11d", "gig"), ("+2d", "dance"), ("every Thursday", "session")):
        desk.save_date(DateDraft(when, title))
    hands.forward(days=5)
    assert [view.title for view in desk.all_dates()] == ["session", "gig", "dance"]
    assert desk.all_dates()[-1].on is None
    assert [view.title for view in desk.today().coming] == ["session", "gig"]
    desk.remove_date(desk.all_dates()[0].uuid)
    assert [view.title for view in desk.all_dates()] == ["gig", "dance"]
    with pytest.raises(NotDoneError, match="no longer"):
        desk.date_view("gone")


def test_ready_or_not_yet_and_what_to_leave_out(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(8)
    for uuid in uuids[2:]:
        desk.check_away(uuid, dict.fromkeys(ALL, Level.SIT_OUT), desk.now())
    hands.forward(days=30)
    for uuid in uuids[:2]:
        desk.check_away(uuid, dict.fromkeys(ALL, Level.KICK_OFF), desk.now())
    tomorrow = desk.save_date(DateDraft("tomorrow", "Gig", tunes=tuple(uuids)))
    assert tomorrow.ready == 2
    assert tomorrow.leave_out
    ready = {tune.tune for tune in tomorrow.tunes if tune.readiness is Readiness.READY}
    assert ready == set(uuids[:2])
    assert [tune.kept for tune in tomorrow.tunes] == sorted(t.kept for t in tomorrow.tunes)
    assert not set(tomorrow.leave_out) & {desk.tune(uuid).title for uuid in uuids[:2]}
    later = desk.save_date(DateDraft("+28d", "Festival", tunes=tuple(uuids)))
    assert later.ready + later.will_be > tomorrow.ready + tomorrow.will_be
    assert later.leave_out == ()


def test_a_date_brings_its_tunes_forward_and_spares_them_on_the_day(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    uuids = kept(30)
    for uuid in uuids:
        desk.check_away(uuid, dict.fromkeys(ALL, Level.KICK_OFF), desk.now())
    hands.forward(days=4)
    wanted = uuids[20:24]
    before = [asked.tune.uuid for asked in desk.plan(RoundKind.FIRST, 2.0).asked]
    view = desk.save_date(DateDraft("+5d", "Dance", tunes=tuple(wanted)))
    week_before = [asked.tune.uuid for asked in desk.plan(RoundKind.FIRST, 2.0).asked]
    assert len(set(week_before) & set(wanted)) > len(set(before) & set(wanted))
    desk.save_date(DateDraft("today", "Dance", tunes=tuple(wanted)), view.uuid)
    on_the_day = [asked.tune.uuid for asked in desk.plan(RoundKind.FIRST, 2.0).asked]
    assert not set(on_the_day) & set(wanted)


def test_a_season_wakes_resting_tunes_and_a_far_date_does_not(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    uuids = kept(3)
    desk.set_status(uuids[0], Status.RESTING)

    def asked() -> set[str]:
        return {asked.tune.uuid for asked in desk.plan(RoundKind.FIRST).asked}

    assert uuids[0] not in asked()
    view = desk.save_date(DateDraft("+40d", "Carols", tunes=(uuids[0],)))
    assert uuids[0] not in asked()
    desk.save_date(DateDraft("+40d", "Carols", tunes=(uuids[0],), weeks_before=6), view.uuid)
    assert uuids[0] in asked()
    hands.forward(days=45)
    assert uuids[0] not in asked()


def test_playing_there_counts_as_met(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(3)
    view = desk.save_date(DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    hands.forward(days=3)
    (past,) = desk.dates_to_tell()
    assert (past.title, past.on) == ("Session", date(2026, 11, 26))
    assert [played for _, _, played in past.tunes] == [False] * 3
    before = desk.view(uuids[0]).chance.chance
    desk.played_there(view.uuid, past.on, uuids[:2])
    desk.played_there(view.uuid, past.on, uuids[:2])
    assert desk.dates_to_tell() == ()
    assert len(desk.repertoire.practices()) == 2
    assert desk.view(uuids[0]).chance.chance > before
    assert desk.sitting().minutes.instrument == 0.0
    by_tune = {tune.tune: tune.played for tune in desk.date_view(view.uuid).tunes}
    assert by_tune == {uuids[0]: past.on, uuids[1]: past.on, uuids[2]: None}
    desk.not_played_there(view.uuid, past.on, uuids[0])
    desk.not_played_there(view.uuid, past.on, uuids[2])
    assert [entry.tune for entry in desk.repertoire.practices()] == [uuids[1]]
    assert (differing(desk), rebuild(desk)) == (0, 0)
    with pytest.raises(NotDoneError, match="not come"):
        desk.played_there(view.uuid, desk.day() + timedelta(days=4), uuids)


def test_a_day_on_which_a_date_does_not_fall_is_refused(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(2)
    session = desk.save_date(DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    dance = desk.save_date(DateDraft("2026-12-20", "Dance"))
    hands.forward(days=16)  # Thursday 10 December
    for wrong, near in ((-5, "Thursday 3 December"), (-1, "Thursday 10 December"),
                        (-30, "Thursday 26 November")):  # fmt: skip
        day = date(2026, 12, 10) + timedelta(days=wrong)
        with pytest.raises(NotDoneError, match=f"the nearest day it does is {near}"):
            desk.played_there(session.uuid, day, uuids)
    with pytest.raises(
        NotDoneError, match=r"Dance does not fall on .*; it begins on Sunday 20 Dec"
    ):
        desk.played_there(dance.uuid, date(2026, 12, 9), uuids)
    # A day not yet come is never offered.
    hands.forward(days=-1)
    with pytest.raises(NotDoneError, match="is Thursday 3 December"):
        desk.played_there(session.uuid, date(2026, 12, 9), uuids)
    assert desk.repertoire.practices() == []
    desk.played_there(session.uuid, date(2026, 12, 3), uuids)
    assert len(desk.repertoire.practices()) == 2


def test_the_first_screen_asks_what_was_played_until_it_is_told(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    view = desk.save_date(DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    assert "played" not in desk.today().note
    for days, when in ((3, "yesterday"), (2, "3 days ago")):
        hands.forward(days=days)
        asked = f"What was played at Session, {when}? Tell it under the dates."
        assert desk.today().note == asked
    desk.told(view.uuid, desk.dates_to_tell()[0].on)
    assert "played" not in desk.today().note


def test_it_can_be_waved_away(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(1)
    view = desk.save_date(DateDraft("+1d", "Dance", tunes=tuple(uuids)))
    hands.forward(days=2)
    desk.told(view.uuid, desk.dates_to_tell()[0].on)
    assert desk.dates_to_tell() == ()
    assert desk.repertoire.practices() == []


@pytest.mark.parametrize("rule", ["FREQ=SOMETIMES", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "x"])
def test_a_rule_another_program_spoiled_does_not_spoil_the_day(
    desk: Desk, kept: Kept, rule: str
) -> None:
    uuids = kept(3)
    desk.save_date(DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    desk.add_day_off("every Sunday")
    for table in ("dates", "days_off"):
        desk.repertoire.connection.execute(f"UPDATE {table} SET rule = ?", (rule,))
    desk.reload()
    assert desk.today().coming[0].on == date(2026, 11, 26)
    assert len(desk.plan(RoundKind.FIRST).asked) == 3
    (view,) = desk.all_dates()
    draft = desk.date_draft(view.uuid)
    assert desk.save_date(DateDraft("every Friday", draft.title), view.uuid).days == 3


def test_a_date_says_that_its_tunes_wait_in_another_tuning(
    desk: Desk, hands: Any, kept: Kept
) -> None:
    (crossed, other) = kept(2, tuning="AEAE")
    kept(6)
    for uuid in desk.tunes:
        desk.check_away(uuid, dict.fromkeys(ALL, Level.SIT_OUT), desk.now())
    hands.forward(days=4)
    assert desk.today().note == ""
    desk.save_date(DateDraft("+12d", "Festival", tunes=(crossed,)))
    assert desk.today().note == "For a date in 12 days 1 tune waits in AEAE."
    assert {asked.tune.uuid for asked in desk.plan(RoundKind.FIRST, tuning="AEAE").asked} == {
        crossed,
        other,
    }
    for _ in range(2):
        desk.check_away(crossed, dict.fromkeys(ALL, Level.KICK_OFF), desk.now())
    assert desk.today().note == ""


def test_what_is_told_of_a_date_comes_true_when_the_plan_is_kept(
    desk: Desk, hands: Any, kept: Kept
) -> None:
    """A player whose starts come as often as the model says, asked by the plan day by day."""
    draw = random.Random(5)
    uuids = kept(24)
    for _ in range(3):
        hands.forward(days=9)
        for uuid in uuids:
            desk.check_away(uuid, dict.fromkeys(ALL, Level.FIND), desk.now())
    hands.forward(days=20)
    told = desk.save_date(DateDraft("+6d", "Dance", tunes=tuple(uuids[:12])))
    before = desk.date_view(told.uuid)
    while desk.day() < before.on:
        run = desk.begin(desk.plan(RoundKind.FIRST))
        while (asked := run.current) is not None:
            came = draw.random() < asked.chance
            level = draw.choice(
                [Level.KICK_OFF, Level.FIND] if came else [Level.JOIN_IN, Level.SIT_OUT]
            )
            run.rate(dict.fromkeys(asked.strands, level), seconds=9)
        run.stop()
        hands.forward(days=1)
    after = desk.date_view(told.uuid)
    mean = {
        name: fmean(getattr(tune, name) for tune in view.tunes)
        for name, view in (("untouched", before), ("kept", before), ("chance", after))
    }
    assert mean["kept"] - mean["untouched"] > 0.2
    assert mean["chance"] == pytest.approx(mean["kept"], abs=0.06)
    assert before.ready + before.will_be - after.ready <= 2
