"""Practice by keys: the work-list, the ways, what each brings, what is written down."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.screens.repertoire.practice_seen import name, ways, work
from tunememory.history.recording import record_check_away
from tunememory.library.adding import Draft
from tunememory.library.overview import tune_rows
from tunememory.library.sound import sound_of_piece
from tunememory.music.tune import Declared, Status
from tunememory.practice.journal import journal_of
from tunememory.practice.ways import material_of
from tunememory.recall.check import Level
from tunememory.ui.practice.clock import PracticeClock

SIZES = [(60, 20), (80, 24)]


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
