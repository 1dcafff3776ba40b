"""Lesson day: nine pupils, 25 minutes each, and one page for the spring concert.

Targets: a pupil up in four keys and three seconds; four starts marked in four to eight keys; a
tune of the list given in eight keys and six seconds; ten seconds of screen between pupils; a slip
with names, keys and first notes; which tunes all can start with one command in a second; who was
away has no longer list than the others. Common practice, no source.

Seconds are modelled as ``conftest`` says (Card, Moran and Newell 1980). How a start sounds is
heard while it is played, so its seconds are the pupil's and not in the model.
"""

from __future__ import annotations

import shutil
from datetime import timedelta
from time import process_time

import pytest

from tunememory.cli import main
from tunememory.clock import fixed_clock
from tunememory.history import record_check_away
from tunememory.library.adding import set_status
from tunememory.library.starts import start_views
from tunememory.music.tune import Status
from tunememory.practice.sitting import set_pick_up
from tunememory.recall.check import Level
from tunememory.session import open_session
from tunememory.teaching.pupils import file_for, files_beside, give_tunes
from tunememory.ui.widgets import RowList

PUPILS = ("Ada", "Brid", "Cormac", "Dora", "Eamon", "Fia", "Gus", "Hanna", "Iris")
AWAY = "Gus"
ALL_CAN = ("Haste to the Wedding", "The Boys of Bluehill", "Soldier's Joy")
GIVEN = (*ALL_CAN, "The Devil's Dream", "Out on the Ocean", "The Traveller")


@pytest.fixture
def school(demo):
    """Nine files: six tunes each, three of them known well; one pupil missed a month."""
    titles = {tune.title: tune.uuid for tune in demo.tunes.values()}
    given = [titles[title] for title in GIVEN]
    here, away = file_for(demo.path, PUPILS[0]), file_for(demo.path, AWAY)
    for path, lessons in ((here, (21, 14, 7)), (away, (60, 53, 46))):
        with open_session(demo.path, fixed_clock(demo.now() - timedelta(days=90))) as then:
            give_tunes(then, path, given, create=True)
        for days in lessons:
            with open_session(path, fixed_clock(demo.now() - timedelta(days=days))) as pupil:
                for uuid in given[:3]:
                    levels = dict.fromkeys(("key", "A", "B"), Level.KICK_OFF)
                    record_check_away(pupil, uuid, levels, pupil.now())
                set_pick_up(pupil, "the turn of the hornpipe")
        with open_session(path, fixed_clock(demo.now() - timedelta(days=lessons[-1]))) as pupil:
            for uuid in given[3:5]:
                record_check_away(pupil, uuid, {"A": Level.SIT_OUT}, pupil.now())
            for uuid in given[:5]:
                set_status(pupil, uuid, Status.KEPT)
    for name in PUPILS[1:]:
        if name != AWAY:
            shutil.copy(here, file_for(demo.path, name))
    return demo


def rows(hands):
    return hands.app.screen.query_one(RowList).rows


async def test_a_lesson(school, hands, at_screen, paste, picture, tmp_path) -> None:
    slip = tmp_path / "slip.txt"
    async with at_screen(school):
        with hands.part("first pupil up, from Today", keys=4, seconds=3.0):
            await hands.press("u")
            hands.think()
            await hands.press(*"ha", "enter")
        assert hands.on == "PupilPage"
        with hands.part("next pupil up", keys=4, seconds=3.0):
            await hands.press("escape")
            hands.think()
            await hands.press(*"ad", "enter")
        shown = picture(hands.app)
        assert "7 days ago: the turn of the hornpipe" in shown
        progress = [row.progress.value for row in rows(hands)]
        assert progress == ["given", "to mend", "to mend", *["can start"] * 3]

        with hands.part("four starts marked", keys=8, seconds=8.0):
            for level in "4213":
                hands.think()
                await hands.press(level)
        assert [row.marked for row in rows(hands)][:4] == [Level(int(n)) for n in "4213"]

        with hands.part("give a tune", keys=8, seconds=6.0):
            await hands.press("g")
            hands.think()
            await hands.press(*"drow", "enter")
        assert rows(hands)[0].tune.title == "Drowsy Maggie"
        with hands.part("the line to next time", keys=30, seconds=10.0):
            await hands.press("n")
            hands.think()
            await hands.press(*"dro")
            hands.think()
            await hands.press("right", *": B part", "enter")
        assert "Next time: Drowsy Maggie: B part" in picture(hands.app)
        await hands.press("w", "ctrl+u")
        await paste(hands.pilot, str(slip))
        await hands.press("enter")

        with hands.part("between pupils", keys=4, seconds=10.0):
            await hands.press("escape")
            hands.think()
            await hands.press(*"gu", "enter")
        # A month away makes no longer list.
        assert len(rows(hands)) == len(GIVEN)
        assert sum(row.progress.value in {"given", "to mend"} for row in rows(hands)) <= 6

        await hands.press("escape")
        with hands.part("who has which", keys=1, seconds=3.0):
            await hands.press("ctrl+t")
        assert "Who has which tune" in picture(hands.app)
    said = slip.read_text(encoding="utf-8")
    drowsy = next(tune for tune in school.tunes.values() if tune.title == "Drowsy Maggie")
    assert f"Drowsy Maggie (reel, {drowsy.key.short})" in said
    start = start_views(drowsy, school.settings)[0]
    assert " ".join(start.letters[:6]) in " ".join(said.replace("│", "").split())


def test_which_tunes_all_can_start_is_one_command(school, capsys) -> None:
    with_gus = [str(path) for path in files_beside(school.path)]
    files = [path for path in with_gus if AWAY not in path]
    begun = process_time()
    assert main(["--now", "2026-11-24T19:15+00:00", "share", *files]) == 0
    assert process_time() - begun <= 1.0
    said = capsys.readouterr().out.splitlines()
    assert {line.strip() for line in said if line.startswith("  ")} == set(ALL_CAN)
