"""Practice by keys: the work-list, the ways, what each brings, the clock, the end of the day."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tunememory.history import record_check_away
from tunememory.library.adding import Draft
from tunememory.library.overview import tune_rows
from tunememory.library.starts import sound_of_piece
from tunememory.music.tune import Declared, Status
from tunememory.practice.journal import journal_of
from tunememory.practice.sitting import minutes_today, pick_up_today
from tunememory.practice.ways import material_of
from tunememory.recall.check import Level
from tunememory.rounds.running import sitting_of
from tunememory.store.records import At
from tunememory.ui.practice.clock import PracticeClock

SIZES = [(60, 20), (80, 24)]


def work(app):
    return app.screen.query_one("#work")


def ways(app):
    return app.screen.query_one("#ways")


def name(app):
    return type(app.screen).__name__


@pytest.mark.parametrize("size", SIZES)
async def test_looks_as_drawn(morning, opened, same_picture, still_memory, seconds, size):
    async with opened(morning, "practice", size) as pilot:
        seconds.now += 64
        pilot.app.screen.query_one(PracticeClock).tick()
        await pilot.pause()
        same_picture(pilot.app, f"practice-{size[0]}x{size[1]}")
        await pilot.press("down", "down", "enter")
        same_picture(pilot.app, f"practice-ways-{size[0]}x{size[1]}")
        await pilot.press("down", "enter")
        await pilot.pause()
        same_picture(pilot.app, f"practice-material-{size[0]}x{size[1]}")


async def test_the_list_is_grouped_by_root_with_what_drones(morning, opened, picture):
    async with opened(morning, "practice") as pilot:
        assert [row.item.tune.title for row in work(pilot.app).rows] == [
            "Miss McLeod's Reel",
            "Off to California",
            "Haste to the Wedding",
        ]
        assert [row.first for row in work(pilot.app).rows] == [True, False, True]
        assert "drone: the G string" in picture(pilot.app)
        await pilot.press("down", "down")
        await pilot.pause()
        assert "drone: the D string" in picture(pilot.app)


async def test_the_way_not_yet_tried_is_offered_and_one_key_logs_it(morning, opened, picture):
    async with opened(morning, "practice") as pilot:
        await pilot.press("enter")
        offered = ways(pilot.app).current
        assert offered.next
        assert not offered.done
        await pilot.press("l")
        await pilot.pause()
        uuid = work(pilot.app).current.item.tune.uuid
        assert [entry.way for entry in journal_of(morning, uuid)] == [offered.way.id]
        after = {one.way.id: one for one in ways(pilot.app).rows}
        assert after[offered.way.id].done == (morning.day(),)
        assert ways(pilot.app).current.next
        assert ways(pilot.app).current.way.id != offered.way.id
        assert "today" in picture(pilot.app)


async def test_enter_leads_to_the_material_and_enter_again_logs_it(morning, opened, picture):
    async with opened(morning, "practice") as pilot:
        uuid = work(pilot.app).current.item.tune.uuid
        await pilot.press("enter", "enter")
        await pilot.pause()
        material = material_of(morning, uuid, ways(pilot.app).current.way.id)
        shown = picture(pilot.app)
        assert material.heading in shown
        assert material.lines[-1].strip() in shown
        assert not journal_of(morning, uuid)
        await pilot.press("enter")
        await pilot.pause()
        assert len(journal_of(morning, uuid)) == 1


async def test_what_there_is_no_material_for_says_why_and_is_not_logged(
    repertoire, opened, picture
):
    book = (Draft(("Only a Name",), status=Status.LEARNING, declared=Declared.NEW),)
    session = repertoire(book, history=False)
    async with opened(session, "practice") as pilot:
        await pilot.press("enter", *["down"] * 11, "up", "enter")
        await pilot.pause()
        assert ways(pilot.app).current.material.caution[:30] in picture(pilot.app)
        await pilot.press("l", "enter")
        assert journal_of(session, "tune-0") == ()


@pytest.mark.parametrize("size", SIZES)
async def test_nothing_to_work_on_says_what_comes_here(repertoire, opened, same_picture, size):
    async with opened(repertoire(()), "practice", size) as pilot:
        same_picture(pilot.app, f"practice-empty-{size[0]}x{size[1]}")
        await pilot.press("enter", "l", "down", "o", "u", "space", "e")
        assert name(pilot.app) == "PracticeScreen"


async def test_hostile_titles_are_only_shown(repertoire, opened, picture, nasty):
    book = tuple(Draft((title,), status=Status.LEARNING) for title in nasty[:3])
    async with opened(repertoire(book, history=False), "practice", (120, 40)) as pilot:
        text = picture(pilot.app)
        for shown in nasty[:3]:
            assert shown in text
        await pilot.press("enter", "enter", "l")
        assert pilot.app.is_running


async def test_a_player_coming_back_is_asked_for_the_minutes_first(repertoire, opened, picture):
    session = repertoire((Draft(("One",), "reel", "D", starts=(("A", "d2 fa"),)),), history=False)
    record_check_away(session, "tune-0", {"A": Level.FIND}, session.now() - timedelta(days=120))
    async with opened(session, "today") as pilot:
        await pilot.press("enter")
        await pilot.pause()
        assert "How many minutes today?" in picture(pilot.app)
        await pilot.press("backspace", *"ten", "enter")
        await pilot.pause()
        assert "give the minutes as a number" in picture(pilot.app)
        await pilot.press(*["backspace"] * 3, "2", "enter")
        await pilot.pause()
        assert name(pilot.app) == "RoundScreen"
        assert pilot.app.screen.run.planned.coming_back


async def test_from_the_list_one_key_logs_the_way_that_is_offered(morning, opened):
    async with opened(morning, "practice") as pilot:
        offered = ways(pilot.app).current
        uuid = work(pilot.app).current.item.tune.uuid
        await pilot.press("l")
        await pilot.pause()
        assert [entry.way for entry in journal_of(morning, uuid)] == [offered.way.id]
        await pilot.press("u")
        await pilot.pause()
        assert journal_of(morning, uuid) == ()


async def test_own_words_are_logged_with_a_way_and_without(morning, opened, picture):
    async with opened(morning, "practice") as pilot:
        uuid = work(pilot.app).current.item.tune.uuid
        await pilot.press("n", *"only the [turn]", "enter")
        await pilot.pause()
        await pilot.press("enter", "n", *"by ear", "enter")
        await pilot.pause()
        way = ways(pilot.app).rows[1].way.id
        done = {(entry.way, entry.words) for entry in journal_of(morning, uuid)}
        assert done == {("", "only the [turn]"), (way, "by ear")}
        await pilot.press("n", "escape", "escape", "n", "enter")
        await pilot.pause()
        assert len(journal_of(morning, uuid)) == 2
        await pilot.press("escape", "j")
        await pilot.pause()
        assert "only the [turn]" in picture(pilot.app)


async def test_what_a_way_brings_is_heard_piece_by_piece(morning, opened, player, picture):
    async with opened(morning, "practice") as pilot:
        tune = work(pilot.app).current.item.tune
        place = next(n for n, way in enumerate(ways(pilot.app).rows) if way.way.id == "key")
        await pilot.press("enter")
        ways(pilot.app).cursor = place
        await pilot.press("enter")
        await pilot.pause()
        pieces = material_of(morning, tune.uuid, "key").pieces
        assert len(pieces) > 1
        assert f"♪ 1 of {len(pieces)} ← → {pieces[0].label}" in picture(pilot.app)
        await pilot.press("p")
        await pilot.pause()
        assert player.last.playing
        assert f"▶ 1 of {len(pieces)}" in picture(pilot.app)
        await pilot.press("right")
        sounds = [sound_of_piece(piece, tune, morning.settings).wav() for piece in pieces[:2]]
        assert player.last.wavs == sounds
        await pilot.press("p")
        await pilot.pause()
        assert not player.last.playing
        assert f"♪ 2 of {len(pieces)}" in picture(pilot.app)
        await pilot.press("left", "left")
        await pilot.pause()
        assert f"♪ {len(pieces)} of {len(pieces)}" in picture(pilot.app)
        await pilot.press("p", "escape")
        await pilot.pause()
        assert not player.last.playing


async def test_a_sound_that_is_over_is_no_longer_said_to_be_heard(
    morning, opened, player, picture, wait_until
):
    async with opened(morning, "practice") as pilot:
        await pilot.press("enter", "enter", "p")
        await pilot.pause()
        assert "▶ " in picture(pilot.app)
        player.last.over()
        await wait_until(lambda: "▶ " not in picture(pilot.app))


async def test_what_a_way_brings_is_written_to_a_file(morning, opened, paste, picture, tmp_path):
    page, text = tmp_path / "way.html", tmp_path / "way.txt"
    async with opened(morning, "practice", (120, 40)) as pilot:
        tune, way = work(pilot.app).current.item.tune, ways(pilot.app).current.way
        await pilot.press("enter", "enter", "w")
        await pilot.pause()
        given = f"miss-mcleods-reel-{way.id}.html"
        assert given in picture(pilot.app)
        for path in (page, text):
            await pilot.press("ctrl+u")
            await paste(pilot, str(path))
            await pilot.press("enter")
            await pilot.pause()
            assert f"Written to {path}." in [n.message for n in pilot.app._notifications]
            await pilot.press("w")
            await pilot.pause()
        await pilot.press("ctrl+u", *"way.doc", "enter")
        await pilot.pause()
        assert "must end in .html or .txt" in picture(pilot.app)
    lines = material_of(morning, tune.uuid, way.id).lines
    assert "\n".join(lines) in text.read_text(encoding="utf-8")
    assert tune.title in text.read_text(encoding="utf-8")
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


async def test_any_tune_can_be_worked_on(morning, opened, picture):
    async with opened(morning, "practice") as pilot:
        await pilot.press("t", *"kitty", "enter")
        await pilot.pause()
        here = work(pilot.app).current
        assert here.item.tune.title == "Kitty of Coleraine"
        assert here.item.reasons[0].value == "your choice"
        # It is in another tuning: the list is that of its tuning now.
        assert "instrument · AEAE" in picture(pilot.app)
        await pilot.press("l")
        await pilot.pause()
        assert len(journal_of(morning, here.item.tune.uuid)) == 1
        await pilot.press("escape", "t", *"wash", "enter")
        await pilot.pause()
        assert work(pilot.app).current.item.tune.title == "The Irish Washerwoman"


async def test_from_a_tune_to_practice_and_back_there_is_one_practice(morning, opened):
    uuid = next(
        row.tune.uuid for row in tune_rows(morning) if row.tune.title == "The Boys of Bluehill"
    )
    async with opened(morning, "tune", uuid=uuid) as pilot:
        await pilot.press("o")
        await pilot.pause()
        assert name(pilot.app) == "PracticeScreen"
        assert work(pilot.app).current.item.tune.uuid == uuid
        await pilot.press("o")
        await pilot.pause()
        assert name(pilot.app) == "TunePage"
        await pilot.press("o")
        await pilot.pause()
        kinds = [type(screen).__name__ for screen in pilot.app.screen_stack]
        assert kinds.count("PracticeScreen") == 1
        assert work(pilot.app).current.item.tune.uuid == uuid


# The clock, its minutes, and the end of the day.


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
