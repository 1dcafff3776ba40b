"""Dates from words: how ready they find the player, what they do to the plan, what was played."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import date, timedelta
from statistics import fmean
from typing import Any

import pytest

from tests.playing import came_at, rate
from tunememory.dates.agenda import dates_of
from tunememory.dates.changing import (
    DateDraft,
    add_day_off,
    all_days_off,
    date_draft,
    preview_when,
    remove_date,
    remove_day_off,
    save_date,
)
from tunememory.dates.played import ask_no_more, dates_to_tell, not_played_there, played_there
from tunememory.dates.readiness import Readiness, all_dates, date_view
from tunememory.errors import NotDoneError
from tunememory.library.adding import set_status
from tunememory.library.overview import tune_view
from tunememory.library.sets import save_set
from tunememory.music.tune import Status
from tunememory.practice.sitting import minutes_today
from tunememory.practice.today import today_view
from tunememory.recall.check import Level, RoundKind
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun
from tunememory.session import Session, differing, rebuild

Kept = Callable[..., list[str]]


def test_a_date_from_words_and_back(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    made = save_set(session, "Low Tide", uuids[:2])
    draft = DateDraft(
        "every Thursday except 24 December", "Kitchen session", "Session", "the kitchen",
        (uuids[2],), (made.uuid,), 5,
    )  # fmt: skip
    view = date_view(session, save_date(session, draft).uuid)
    assert (view.on, view.days, view.wanted) == (date(2026, 11, 26), 2, 3)
    assert (view.dated.kind, view.sets) == ("session", ("Low Tide",))
    typed = date_draft(session, view.dated.uuid)
    assert typed == DateDraft(view.when, "Kitchen session", "session", "the kitchen",
                              (uuids[2],), (made.uuid,), 5)  # fmt: skip
    save_date(session, typed, view.dated.uuid)
    assert dates_of(session)[view.dated.uuid] == view.dated


def test_an_edit_that_leaves_the_words_keeps_the_past_days(
    session: Session, kept: Kept, hands: Any
) -> None:
    kept(1)
    view = save_date(session, DateDraft("every second Thursday", "Session"))
    first = dates_of(session)[view.uuid].first_day
    hands.forward(days=30)
    draft = date_draft(session, view.uuid)
    save_date(session, DateDraft(draft.when, "Late session"), view.uuid)
    assert dates_of(session)[view.uuid].first_day == first
    assert dates_of(session)[view.uuid].title == "Late session"


def test_what_is_typed_is_read_back_before_it_is_kept(session: Session) -> None:
    words, days = preview_when(session, "second saturday of the month")
    assert words == "second Saturday of the month"
    assert days == (date(2026, 12, 12), date(2027, 1, 9), date(2027, 2, 13), date(2027, 3, 13))
    with pytest.raises(NotDoneError) as refused:
        preview_when(session, "when the moon is new")
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
def test_what_is_no_date_is_refused(session: Session, draft: DateDraft, says: str) -> None:
    with pytest.raises(NotDoneError, match=says):
        save_date(session, draft)
    assert all_dates(session) == ()


def test_dates_that_come_stand_before_those_that_are_over(
    session: Session, kept: Kept, hands: Any
) -> None:
    kept(1)
    for when, title in (("+11d", "gig"), ("+2d", "dance"), ("every Thursday", "session")):
        save_date(session, DateDraft(when, title))
    hands.forward(days=5)
    assert [view.dated.title for view in all_dates(session)] == ["session", "gig", "dance"]
    assert all_dates(session)[-1].on is None
    assert [view.dated.title for view in today_view(session).coming] == ["session", "gig"]
    remove_date(session, all_dates(session)[0].dated.uuid)
    assert [view.dated.title for view in all_dates(session)] == ["gig", "dance"]
    with pytest.raises(NotDoneError, match="no longer"):
        date_view(session, "gone")


def test_ready_or_not_yet_and_what_to_leave_out(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(8)
    came_at(session, Level.SIT_OUT, *uuids[2:])
    hands.forward(days=30)
    came_at(session, Level.KICK_OFF, *uuids[:2])
    gig = save_date(session, DateDraft("tomorrow", "Gig", tunes=tuple(uuids)))
    tomorrow = date_view(session, gig.uuid)
    assert tomorrow.ready == 2
    assert tomorrow.leave_out
    ready = {tune.tune.uuid for tune in tomorrow.tunes if tune.readiness is Readiness.READY}
    assert ready == set(uuids[:2])
    assert [tune.kept for tune in tomorrow.tunes] == sorted(t.kept for t in tomorrow.tunes)
    assert not set(tomorrow.leave_out) & {session.tune(uuid).title for uuid in uuids[:2]}
    festival = save_date(session, DateDraft("+28d", "Festival", tunes=tuple(uuids)))
    later = date_view(session, festival.uuid)
    assert later.ready + later.will_be > tomorrow.ready + tomorrow.will_be
    assert later.leave_out == ()


def test_a_date_brings_its_tunes_forward_and_spares_them_on_the_day(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(30)
    came_at(session, Level.KICK_OFF, *uuids)
    hands.forward(days=4)
    wanted = uuids[20:24]
    before = [asked.tune.uuid for asked in plan_round(session, RoundKind.FIRST, 2.0).asked]
    view = save_date(session, DateDraft("+5d", "Dance", tunes=tuple(wanted)))
    week_before = [asked.tune.uuid for asked in plan_round(session, RoundKind.FIRST, 2.0).asked]
    assert len(set(week_before) & set(wanted)) > len(set(before) & set(wanted))
    save_date(session, DateDraft("today", "Dance", tunes=tuple(wanted)), view.uuid)
    on_the_day = [asked.tune.uuid for asked in plan_round(session, RoundKind.FIRST, 2.0).asked]
    assert not set(on_the_day) & set(wanted)


def test_a_season_wakes_resting_tunes_and_a_far_date_does_not(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(3)
    set_status(session, uuids[0], Status.RESTING)

    def asked() -> set[str]:
        return {asked.tune.uuid for asked in plan_round(session, RoundKind.FIRST).asked}

    assert uuids[0] not in asked()
    view = save_date(session, DateDraft("+40d", "Carols", tunes=(uuids[0],)))
    assert uuids[0] not in asked()
    save_date(session, DateDraft("+40d", "Carols", tunes=(uuids[0],), weeks_before=6), view.uuid)
    assert uuids[0] in asked()
    hands.forward(days=45)
    assert uuids[0] not in asked()


def test_playing_there_counts_as_met(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(3)
    view = save_date(session, DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    hands.forward(days=3)
    (past,) = dates_to_tell(session)
    assert (past.dated.title, past.on) == ("Session", date(2026, 11, 26))
    assert [played for _, _, played in past.tunes] == [False] * 3
    before = tune_view(session, uuids[0]).chance.chance
    played_there(session, view.uuid, past.on, uuids[:2])
    played_there(session, view.uuid, past.on, uuids[:2])
    assert dates_to_tell(session) == ()
    assert len(session.repertoire.practices.all()) == 2
    assert tune_view(session, uuids[0]).chance.chance > before
    assert minutes_today(session).instrument == 0.0
    by_tune = {tune.tune.uuid: tune.played for tune in date_view(session, view.uuid).tunes}
    assert by_tune == {uuids[0]: past.on, uuids[1]: past.on, uuids[2]: None}
    not_played_there(session, view.uuid, past.on, uuids[0])
    not_played_there(session, view.uuid, past.on, uuids[2])
    assert [entry.tune for entry in session.repertoire.practices.all()] == [uuids[1]]
    assert (differing(session), rebuild(session)) == (0, 0)
    with pytest.raises(NotDoneError, match="not come"):
        played_there(session, view.uuid, session.day() + timedelta(days=4), uuids)


def test_a_day_on_which_a_date_does_not_fall_is_refused(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    weekly = save_date(session, DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    dance = save_date(session, DateDraft("2026-12-20", "Dance"))
    hands.forward(days=16)  # Thursday 10 December
    for wrong, near in ((-5, "Thursday 3 December"), (-1, "Thursday 10 December"),
                        (-30, "Thursday 26 November")):  # fmt: skip
        day = date(2026, 12, 10) + timedelta(days=wrong)
        with pytest.raises(NotDoneError, match=f"the nearest day it does is {near}"):
            played_there(session, weekly.uuid, day, uuids)
    with pytest.raises(
        NotDoneError, match=r"Dance does not fall on .*; it begins on Sunday 20 Dec"
    ):
        played_there(session, dance.uuid, date(2026, 12, 9), uuids)
    # A day not yet come is never offered.
    hands.forward(days=-1)
    with pytest.raises(NotDoneError, match="is Thursday 3 December"):
        played_there(session, weekly.uuid, date(2026, 12, 9), uuids)
    assert session.repertoire.practices.all() == []
    played_there(session, weekly.uuid, date(2026, 12, 3), uuids)
    assert len(session.repertoire.practices.all()) == 2


def test_the_first_screen_asks_what_was_played_until_it_is_told(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    view = save_date(session, DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    assert "played" not in today_view(session).note
    for days, when in ((3, "yesterday"), (2, "3 days ago")):
        hands.forward(days=days)
        asked = f"What was played at Session, {when}? Tell it under the dates."
        assert today_view(session).note == asked
    ask_no_more(session, view.uuid, dates_to_tell(session)[0].on)
    assert "played" not in today_view(session).note


def test_it_can_be_waved_away(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(1)
    view = save_date(session, DateDraft("+1d", "Dance", tunes=tuple(uuids)))
    hands.forward(days=2)
    ask_no_more(session, view.uuid, dates_to_tell(session)[0].on)
    assert dates_to_tell(session) == ()
    assert session.repertoire.practices.all() == []


@pytest.mark.parametrize(
    "rule",
    ["FREQ=SOMETIMES", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "x", "FREQ=MONTHLY;BYDAY=53MO"],
)
def test_a_rule_another_program_spoiled_does_not_spoil_the_day(
    session: Session, kept: Kept, rule: str
) -> None:
    uuids = kept(3)
    save_date(session, DateDraft("every Thursday", "Session", tunes=tuple(uuids)))
    add_day_off(session, "every Sunday")
    for table in ("dates", "days_off"):
        session.repertoire.connection.execute(f"UPDATE {table} SET rule = ?", (rule,))
    session.reload()
    assert today_view(session).coming[0].on == date(2026, 11, 26)
    assert len(plan_round(session, RoundKind.FIRST).asked) == 3
    (view,) = all_dates(session)
    draft = date_draft(session, view.dated.uuid)
    save_date(session, DateDraft("every Friday", draft.title), view.dated.uuid)
    assert date_view(session, view.dated.uuid).days == 3


def test_a_date_says_that_its_tunes_wait_in_another_tuning(
    session: Session, hands: Any, kept: Kept
) -> None:
    (crossed, other) = kept(2, tuning="AEAE")
    kept(6)
    came_at(session, Level.SIT_OUT, *session.tunes)
    hands.forward(days=4)
    assert today_view(session).note == ""
    save_date(session, DateDraft("+12d", "Festival", tunes=(crossed,)))
    assert today_view(session).note == "For a date in 12 days 1 tune waits in AEAE."
    assert {
        asked.tune.uuid for asked in plan_round(session, RoundKind.FIRST, tuning="AEAE").asked
    } == {
        crossed,
        other,
    }
    for _ in range(2):
        came_at(session, Level.KICK_OFF, crossed)
    assert today_view(session).note == ""


def test_what_is_told_of_a_date_comes_true_when_the_plan_is_kept(
    session: Session, hands: Any, kept: Kept
) -> None:
    """A player whose starts come as often as the model says, asked by the plan day by day."""
    draw = random.Random(5)
    uuids = kept(24)
    for _ in range(3):
        hands.forward(days=9)
        came_at(session, Level.FIND, *uuids)
    hands.forward(days=20)
    told = save_date(session, DateDraft("+6d", "Dance", tunes=tuple(uuids[:12])))
    before = date_view(session, told.uuid)
    assert before.on is not None
    while session.day() < before.on:
        run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
        while (asked := run.current) is not None:
            came = draw.random() < asked.chance
            level = draw.choice(
                [Level.KICK_OFF, Level.FIND] if came else [Level.JOIN_IN, Level.SIT_OUT]
            )
            rate(run, level, seconds=9)
        run.stop()
        hands.forward(days=1)
    after = date_view(session, told.uuid)
    mean = {
        name: fmean(getattr(tune, name) for tune in view.tunes)
        for name, view in (("untouched", before), ("kept", before), ("chance", after))
    }
    assert mean["kept"] - mean["untouched"] > 0.2
    assert mean["chance"] == pytest.approx(mean["kept"], abs=0.06)
    assert before.ready + before.will_be - after.ready <= 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("every Sunday", "every Sunday"),
        ("1 August to 14 August", "Sunday 1 August 2027 to Saturday 14 August 2027"),
        ("20 December to 6 January", "Sunday 20 December 2026 to Wednesday 6 January 2027"),
        ("1 October 2027 to 1 July 2028", "Friday 1 October 2027 to Saturday 1 July 2028"),
        ("tomorrow", "Wednesday 25 November 2026"),
    ],
)
def test_days_off_in_words(session: Session, text: str, words: str) -> None:
    added = add_day_off(session, text, "away")
    assert (added.when, added.note) == (words, "away")
    assert all_days_off(session) == (added,)
    remove_day_off(session, added.uuid)
    assert all_days_off(session) == ()


@pytest.mark.parametrize(
    "text", ["", "14 August 2027 to 1 August 2027", "every Sunday to Monday", "some time",
             "every Thursday except 24 December", "9 May to 1 May"],
)  # fmt: skip
def test_what_is_no_day_off_is_refused(session: Session, text: str) -> None:
    with pytest.raises(NotDoneError):
        add_day_off(session, text)
    assert all_days_off(session) == ()
