"""Pupils by keys: letters of a name, marks, giving, the line to next time, who has which."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from tunememory.clock import fixed_clock
from tunememory.history import record_check_away
from tunememory.library.adding import draft_of, edit_tune
from tunememory.library.overview import tune_rows
from tunememory.practice.sitting import set_pick_up
from tunememory.recall.check import Level
from tunememory.session import open_session
from tunememory.teaching.pupils import file_for, give_tunes
from tunememory.ui.widgets import RowList

SIZES = [(60, 20), (80, 24)]


@pytest.fixture
def school(repertoire):
    """A teacher with three pupils; the first was given tunes at two times."""
    session = repertoire()
    uuids = {row.tune.title: row.tune.uuid for row in tune_rows(session)}
    given = [uuids[title] for title in ("Haste to the Wedding", "Off to California",
                                        "Miss McLeod's Reel")]  # fmt: skip
    with open_session(session.path, fixed_clock(session.now() - timedelta(days=21))) as then:
        for name in ("Ada", "Bo", "Cass"):
            give_tunes(then, file_for(session.path, name), given, create=True)
    for days in (14, 7):
        with open_session(
            file_of(session, "Ada"), fixed_clock(session.now() - timedelta(days=days))
        ) as ada:
            set_pick_up(ada, "the turn of Haste")
            levels = dict.fromkeys(("key", "A", "B"), Level.KICK_OFF)
            record_check_away(ada, uuids["Haste to the Wedding"], levels, ada.now())
    return session


def file_of(session, name):
    return session.path.with_name(f"{name}.tunes")


def pupil(app):
    return app.screen.query_one(RowList)


def name(app):
    return type(app.screen).__name__


@pytest.mark.parametrize("size", SIZES)
async def test_looks_as_drawn(school, opened, same_picture, size, frozen_cursor):
    async with opened(school, "pupils", size) as pilot:
        same_picture(pilot.app, f"pupils-{size[0]}x{size[1]}")
        await pilot.press(*"ad", "enter")
        await pilot.pause()
        await pilot.press("3")
        await pilot.pause()
        same_picture(pilot.app, f"pupil-{size[0]}x{size[1]}")
        await pilot.press("escape", "ctrl+t")
        await pilot.pause()
        same_picture(pilot.app, f"together-{size[0]}x{size[1]}")


async def test_without_pupils_it_says_how_to_make_one(repertoire, opened, picture):
    async with opened(repertoire(), "pupils") as pilot:
        assert "ctrl+n for a new pupil" in picture(pilot.app)
        await pilot.press("enter", "ctrl+t")
        assert name(pilot.app) == "PupilsScreen"
        await pilot.press(*"Zoë", "ctrl+n")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "PupilPage"
        assert "No tunes yet. Press g to give one" in picture(pilot.app)
        await pilot.press("4", "h", "w", "p", "u", "down")
        await pilot.press("escape")
        await pilot.pause()
        assert "Zoë" in picture(pilot.app)
        await pilot.press("ctrl+n", *"Zoë", "enter")
        await pilot.pause()
        assert "there already" in picture(pilot.app)


async def test_marks_go_down_the_list_and_back(school, opened, picture):
    async with opened(school, "pupils") as pilot:
        await pilot.press(*"ad", "enter")
        await pilot.pause()
        assert "7 days ago: the turn of Haste" in picture(pilot.app)
        titles = [row.tune.title for row in pupil(pilot.app).rows]
        await pilot.press("4", "3", "1")
        await pilot.pause()
        assert [row.tune.title for row in pupil(pilot.app).rows] == titles
        marks = [row.marked for row in pupil(pilot.app).rows]
        assert marks == [Level.KICK_OFF, Level.FIND, Level.SIT_OUT]
        await pilot.press("u")
        await pilot.pause()
        assert pupil(pilot.app).rows[2].marked is None
        path = file_of(school, "Ada")
    with open_session(path, school.clock) as other:
        today = [check for check in other.repertoire.checks.all() if check.day == school.day()]
        assert [min(level for _, level in check.levels) for check in today] == [4, 3]
    assert school.repertoire.checks.all(since=school.now()) == []


async def test_giving_and_the_line_to_next_time(school, opened, paste, picture, tmp_path):
    slip = tmp_path / "slip.html"
    async with opened(school, "pupils") as pilot:
        await pilot.press(*"bo", "enter")
        await pilot.pause()
        await pilot.press("g", *"wash", "enter")
        await pilot.pause()
        titles = [row.tune.title for row in pupil(pilot.app).rows]
        assert titles.count("The Irish Washerwoman") == 1
        await pilot.press("g", *"wash", "enter")
        await pilot.pause()
        said = [notice.message for notice in pilot.app._notifications]
        assert "Had already: The Irish Washerwoman." in said
        await pilot.press("n", *"bars 5 to 8", "enter")
        await pilot.pause()
        assert "Next time: bars 5 to 8" in picture(pilot.app)
        await pilot.press("w", "ctrl+u")
        await paste(pilot, str(slip))
        await pilot.press("enter")
        await pilot.pause()
        before = pupil(pilot.app).current.tune.title
        await pilot.press("h")
        await pilot.pause()
        assert {row.tune.title: row.progress.value for row in pupil(pilot.app).rows}[
            before
        ] != "given"
    assert "bars 5 to 8" in slip.read_text(encoding="utf-8")


async def test_the_starts_of_a_pupils_tune_are_heard(school, opened, player):
    async with opened(school, "pupils") as pilot:
        await pilot.press(*"ad", "enter")
        await pilot.pause()
        place = next(n for n, row in enumerate(pupil(pilot.app).rows) if row.starts)
        pupil(pilot.app).cursor = place
        await pilot.press("p")
        assert player.last.playing
        await pilot.press("p")
        assert not player.last.playing


async def test_who_has_which_is_written_out(school, opened, paste, tmp_path):
    path = tmp_path / "who.txt"
    async with opened(school, "pupils") as pilot:
        await pilot.press("ctrl+t")
        await pilot.pause()
        rows = pilot.app.screen.query_one(RowList).rows
        assert rows[0].title == "Haste to the Wedding"
        assert rows[0].marks == (True, False, False)
        await pilot.press("right", "left", "w", "ctrl+u")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
    assert "Haste to the Wedding" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("size", SIZES)
async def test_every_sign_stands_under_the_number_of_its_file(school, opened, picture, size):
    for number in range(20):
        give_tunes(school, file_for(school.path, f"P{number:02}"), [], create=True)
    async with opened(school, "pupils", size) as pilot:
        await pilot.press("ctrl+t")
        await pilot.pause()
        shown = picture(pilot.app).splitlines()
    (head,) = (line for line in shown if line.split()[:2] == ["1", "2"])
    (row,) = (line for line in shown if "Haste to the Wedding" in line)
    numbers = [found.end() - 1 for found in re.finditer(r"\d+", head)]
    assert numbers == [place for place, sign in enumerate(row) if sign in "●○·"]


async def test_more_pupils_than_have_room_are_turned_to(school, opened, picture):
    for number in range(20):
        give_tunes(school, file_for(school.path, f"P{number:02}"), [], create=True)
    async with opened(school, "pupils", (60, 20)) as pilot:
        await pilot.press("ctrl+t")
        await pilot.pause()
        assert "Ada" in picture(pilot.app)
        assert "P19" not in picture(pilot.app)
        await pilot.press("right", "right")
        await pilot.pause()
        assert "P19" in picture(pilot.app)
        await pilot.press("right", "left", "left")
        await pilot.pause()
        assert "Ada" in picture(pilot.app)


async def test_a_file_that_is_no_repertoire_is_said_in_a_line(school, opened, picture):
    file_for(school.path, "broken").write_bytes(b"not a repertoire" * 100)
    async with opened(school, "pupils") as pilot:
        await pilot.press(*"bro", "enter")
        await pilot.pause()
        assert name(pilot.app) == "PupilsScreen"
        assert any("broken" in notice.message for notice in pilot.app._notifications)
        await pilot.press("ctrl+t")
        await pilot.pause()
        assert pilot.app.is_running


async def test_hostile_names_are_only_shown(school, opened, picture, nasty):
    path = file_of(school, "Ada")
    with open_session(path, school.clock) as other:
        for tune in list(other.tunes):
            draft = draft_of(other.tune(tune))
            edit_tune(
                other, tune, type(draft)(**{**_fields(draft), "titles": (nasty[0], nasty[2])})
            )
        set_pick_up(other, nasty[2])
    file_for(school.path, "[@click=app.quit]x").write_bytes(path.read_bytes())
    async with opened(school, "pupils", (120, 40)) as pilot:
        assert "[@click=app.quit]x" in picture(pilot.app)
        await pilot.press(*"ad", "enter")
        await pilot.pause()
        assert "The [Humours] of Glen" in picture(pilot.app)
        await pilot.press("escape", "ctrl+t")
        await pilot.pause()
        assert "The [Humours] of Glen" in picture(pilot.app)


def _fields(draft):
    return {field: getattr(draft, field) for field in type(draft).__dataclass_fields__}
