"""Practice by keys: the clock, its minutes, and the end of the day."""

from __future__ import annotations

import pytest

from tests.screens.repertoire.practice_seen import name, work
from tunememory.practice.journal import journal_of
from tunememory.practice.sitting import minutes_today, pick_up_today
from tunememory.rounds.running import sitting_of
from tunememory.store.records import At
from tunememory.ui.practice.clock import PracticeClock


async def test_logging_takes_the_minutes_since_the_last(morning, opened, seconds):
    async with opened(morning, "practice") as pilot:
        uuid = work(pilot.app).current.item.tune.uuid
        seconds.now += 180
        await pilot.press("enter", "l")
        seconds.now += 60
        await pilot.press("l")
        assert sorted(entry.minutes for entry in journal_of(morning, uuid)) == [1.0, 3.0]
        await pilot.press("u")
        assert [entry.minutes for entry in journal_of(morning, uuid)] == [3.0]
        seconds.now += 60
        await pilot.press("escape", "escape")
        await pilot.pause()
        # What was taken back and what was not logged belongs to no tune.
        assert minutes_today(morning).instrument == pytest.approx(5.0)


async def test_a_paused_clock_does_not_count(morning, opened, seconds, picture):
    async with opened(morning, "practice") as pilot:
        seconds.now += 60
        await pilot.press("space")
        await pilot.pause()
        assert "paused" in picture(pilot.app)
        seconds.now += 600
        await pilot.press("space")
        seconds.now += 60
        await pilot.press("escape")
        await pilot.pause()
        assert minutes_today(morning).instrument == pytest.approx(2.0)


async def test_minutes_in_the_head_are_counted_apart(morning, opened, seconds, picture):
    async with opened(morning, "practice") as pilot:
        seconds.now += 120
        await pilot.press("e")
        await pilot.pause()
        assert "in the head" in picture(pilot.app)
        seconds.now += 240
        await pilot.press("escape")
        await pilot.pause()
        minutes = minutes_today(morning)
        assert (minutes.instrument, minutes.head) == pytest.approx((2.0, 4.0))
        assert sitting_of(morning).head_only


async def test_a_pause_is_offered_once_and_any_key_takes_it_away(morning, opened, seconds, picture):
    async with opened(morning, "practice") as pilot:
        seconds.now += 24 * 60
        pilot.app.screen.query_one(PracticeClock).tick()
        await pilot.pause()
        assert "pause of five" not in picture(pilot.app)
        seconds.now += 61
        pilot.app.screen.query_one(PracticeClock).tick()
        await pilot.pause()
        assert "pause of five" in picture(pilot.app)
        await pilot.press("down")
        await pilot.pause()
        assert "pause of five" not in picture(pilot.app)
        assert work(pilot.app).cursor == 1
        seconds.now += 600
        pilot.app.screen.query_one(PracticeClock).tick()
        await pilot.pause()
        assert "pause of five" not in picture(pilot.app)


async def test_one_key_ends_the_sitting_for_pain_and_keeps_everything(morning, opened, seconds):
    async with opened(morning, "practice") as pilot:
        seconds.now += 300
        await pilot.press("x")
        await pilot.pause()
        assert name(pilot.app) == "TodayScreen"
        assert sitting_of(morning).stopped
        assert sitting_of(morning).closed_at
        assert minutes_today(morning).instrument == pytest.approx(5.0)


async def test_pain_before_anything_was_played_writes_no_practice_down(morning, opened, seconds):
    before = len(morning.repertoire.practices.all())
    async with opened(morning, "practice") as pilot:
        seconds.now += 2
        await pilot.press("x")
        await pilot.pause()
    assert sitting_of(morning).stopped
    assert len(morning.repertoire.practices.all()) == before


async def test_minutes_are_kept_when_the_app_ends(morning, opened, seconds):
    async with opened(morning, "practice") as pilot:
        seconds.now += 90
        await pilot.press("ctrl+q")
    assert sum(entry.minutes for entry in morning.repertoire.practices.all()) == pytest.approx(4.5)


async def test_leaving_comes_back_to_practice_and_finishing_goes_on(morning, opened):
    async with opened(morning, "practice") as pilot:
        await pilot.press("escape")
        await pilot.pause()
        assert sitting_of(morning).step is At.PRACTICE
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "PracticeScreen"
        await pilot.press("f")
        await pilot.pause()
        assert sitting_of(morning).step is At.LAST
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "RoundScreen"


async def test_the_day_ends_with_a_line_that_is_tomorrows_first(morning, opened, picture):
    async with opened(morning, "practice") as pilot:
        assert "B part: phrase 3" not in picture(pilot.app)
        await pilot.press("f")
        await pilot.pause()
        assert "Yesterday: B part: phrase 3" in picture(pilot.app).splitlines()[2]
        await pilot.press("enter")
        await pilot.pause()
        while pilot.app.screen.run.current is not None:
            await pilot.press("space", "4")
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "AskLine"
        assert not sitting_of(morning).closed_at
        await pilot.press(*"bar 5", "enter")
        await pilot.pause()
        assert name(pilot.app) == "TodayScreen"
        assert sitting_of(morning).closed_at
        assert pick_up_today(morning) == "bar 5"


async def test_escape_leaves_the_line_out_and_closes_the_day(morning, opened):
    async with opened(morning, "practice") as pilot:
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("c", *"no", "escape")
        await pilot.pause()
        assert sitting_of(morning).closed_at
        assert pick_up_today(morning) == ""


async def test_a_title_is_completed_in_the_line_to_tomorrow(morning, opened, wait_until, picture):
    async with opened(morning, "today") as pilot:
        await pilot.press("c", *"off", "space", *"then mcl")
        line = pilot.app.screen.query_one("LineInput")
        await pilot.press(*["backspace"] * 9)
        await wait_until(lambda: line._suggestion == "Off to California")
        assert "→ take the name offered" in picture(pilot.app)
        await pilot.press("right", *": B", "enter")
        await pilot.pause()
        assert pick_up_today(morning) == "Off to California: B"
