"""Dates by keys: put in, read back, how ready, played there, days off."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tunememory.dates.changing import DateDraft, add_day_off, all_days_off, date_draft, save_date
from tunememory.dates.played import PastDate, dates_to_tell
from tunememory.dates.readiness import all_dates, date_view
from tunememory.library.overview import tune_rows
from tunememory.practice.journal import journal_of
from tunememory.session import About
from tunememory.store.records import Date
from tunememory.ui.widgets import RowList

PAST = "5f0c1d9e-2a51-4c55-9f0e-8b7a4a3f6d21"
SIZES = [(60, 20), (80, 24)]


@pytest.fixture
def season(repertoire):
    """A session with a weekly date, one day, one that was yesterday, and a rest day."""
    session = repertoire()
    tunes = [row.tune.uuid for row in tune_rows(session)]
    save_date(
        session, DateDraft("5 december", "Barn dance", "dance", "Saltpan Hall", tuple(tunes[:6]))
    )
    save_date(
        session, DateDraft("every thursday", "Kitchen session", "session", "", tuple(tunes[3:6]))
    )
    yesterday = session.day() - timedelta(days=1)
    session.repertoire.dates.save(Date(PAST, "Harbour jam", yesterday, tunes=tuple(tunes[:4])))
    session.changed(About.SETS)
    add_day_off(session, "every sunday")
    return session


def dates(app):
    return app.screen.query_one(RowList)


def name(app):
    return type(app.screen).__name__


@pytest.mark.parametrize("size", SIZES)
async def test_the_list_looks_as_drawn(season, opened, same_picture, still_memory, size):
    async with opened(season, "dates", size) as pilot:
        same_picture(pilot.app, f"dates-{size[0]}x{size[1]}")


@pytest.mark.parametrize("size", SIZES)
async def test_a_dates_page_and_form_look_as_drawn(
    season, opened, same_picture, still_memory, frozen_cursor, size
):
    async with opened(season, "dates", size) as pilot:
        await pilot.press("down", "enter")
        await pilot.pause()
        same_picture(pilot.app, f"date-{size[0]}x{size[1]}")
        await pilot.press("e", "end", "ctrl+u", *"second saturday")
        await pilot.pause()
        same_picture(pilot.app, f"date-form-{size[0]}x{size[1]}")
        await pilot.press("escape", "y", "escape", "o", *"every monday")
        await pilot.pause()
        same_picture(pilot.app, f"day-off-form-{size[0]}x{size[1]}")


@pytest.mark.parametrize("size", SIZES)
async def test_without_dates_it_says_how_to_put_one_in(repertoire, opened, same_picture, size):
    async with opened(repertoire(()), "dates", size) as pilot:
        same_picture(pilot.app, f"dates-empty-{size[0]}x{size[1]}")
        await pilot.press("enter", "e", "x", "down")
        assert name(pilot.app) == "DatesScreen"


async def test_how_ready_is_said_in_words_and_agrees_with_the_page(season, opened, picture):
    async with opened(season, "dates") as pilot:
        await pilot.press("down")
        view = dates(pilot.app).current
        assert view.dated.title == "Barn dance"
        said = f"{view.ready} of {view.wanted} would start, {view.ready + view.will_be} by then"
        assert said in picture(pilot.app)
        await pilot.press("enter")
        await pilot.pause()
        assert said in picture(pilot.app)
        shown = picture(pilot.app)
        assert shown.count(" ready") >= view.ready
        assert len(pilot.app.screen.query_one(RowList).rows) == view.wanted == 6


async def test_from_today_the_next_date_and_how_ready_is_two_keys_away(season, opened):
    async with opened(season, "today") as pilot:
        await pilot.press("d", "enter")
        await pilot.pause()
        assert name(pilot.app) == "DatePage"


async def test_a_date_is_read_back_as_it_is_typed_and_gets_its_tunes(season, opened, picture):
    async with opened(season, "dates") as pilot:
        await pilot.press("n", *"second")
        await pilot.pause()
        # What is wrong is said when the line is left, not while it is typed.
        assert "is no day" not in picture(pilot.app)
        await pilot.press("down")
        await pilot.pause()
        assert "is no day" in picture(pilot.app)
        await pilot.press("up", "end", *" saturday")
        await pilot.pause()
        assert "is no day" not in picture(pilot.app)
        assert "12 December" in picture(pilot.app)
        await pilot.press("down", *"Square dance", "ctrl+s")
        await pilot.pause()
        assert name(pilot.app) == "PickScreen"
        await pilot.press(*"mcl", "enter", *"boys", "enter", "ctrl+s")
        await pilot.pause()
        assert name(pilot.app) == "DatePage"
        view = date_view(season, pilot.app.screen.uuid)
        assert {row.tune.title for row in view.tunes} == {
            "Miss McLeod's Reel",
            "The Boys of Bluehill",
        }
        assert view.dated.title == "Square dance"


async def test_what_cannot_be_read_is_not_kept(season, opened, picture):
    async with opened(season, "dates") as pilot:
        await pilot.press("n", *"someday", "ctrl+s")
        await pilot.pause()
        assert name(pilot.app) == "DateForm"
        assert len(all_dates(season)) == 3
        await pilot.press("escape")
        await pilot.pause()
        assert "Leave without keeping" in picture(pilot.app)
        await pilot.press("y")
        await pilot.pause()
        assert name(pilot.app) == "DatesScreen"


async def test_a_date_is_changed_and_taken_out(season, opened):
    async with opened(season, "dates") as pilot:
        await pilot.press("e", "down", "end", *" two", "ctrl+s")
        await pilot.pause()
        assert dates(pilot.app).current.dated.title == "Kitchen session two"
        assert dates(pilot.app).current.wanted == 3
        await pilot.press("x", "y")
        await pilot.pause()
        assert {view.dated.title for view in all_dates(season)} == {"Barn dance", "Harbour jam"}


async def test_picking_tunes_again_begins_with_those_picked(season, opened):
    async with opened(season, "dates") as pilot:
        await pilot.press("enter")
        await pilot.pause()
        uuid = pilot.app.screen.uuid
        before = date_draft(season, uuid).tunes
        await pilot.press("t", "enter", "ctrl+s")
        await pilot.pause()
        assert date_draft(season, uuid).tunes == before[1:]
        await pilot.press("t", "enter", "escape")
        await pilot.pause()
        assert date_draft(season, uuid).tunes == before[1:]


async def test_played_there_one_key_a_tune_or_one_for_all(season, opened, same_picture):
    async with opened(season, "dates", (60, 20)) as pilot:
        await pilot.press("up", "enter")
        await pilot.pause()
        assert name(pilot.app) == "PlayedScreen"
        await pilot.press("enter", "enter")
        await pilot.pause()
        same_picture(pilot.app, "played-60x20")
        tunes = [tune.tune for tune in pilot.app.screen.query_one(RowList).rows]
        for uuid in tunes[:2]:
            assert [entry.played_at for entry in journal_of(season, uuid)] == ["Harbour jam"]
        await pilot.press("up", "enter")
        await pilot.pause()
        assert journal_of(season, tunes[1]) == ()
        await pilot.press("a")
        await pilot.pause()
        assert all(len(journal_of(season, uuid)) == 1 for uuid in tunes)
        await pilot.press("escape")
        await pilot.pause()
        assert dates_to_tell(season) == ()
        assert all(not isinstance(row, PastDate) for row in dates(pilot.app).rows)


async def test_nothing_played_is_asked_no_more(season, opened):
    async with opened(season, "dates") as pilot:
        await pilot.press("up", "enter", "n")
        await pilot.pause()
        assert name(pilot.app) == "DatesScreen"
        assert dates_to_tell(season) == ()
        assert not [p for p in season.repertoire.practices.all() if p.played_at]


async def test_days_off_come_and_go(season, opened):
    async with opened(season, "dates") as pilot:
        await pilot.press("o", *"2 december to 9 december", "down", *"holiday", "enter")
        await pilot.pause()
        assert "holiday" in {off.note for off in all_days_off(season)}
        await pilot.press("end", "x")
        await pilot.pause()
        assert len(all_days_off(season)) == 1


async def test_out_to_a_calendar_and_back(season, opened, paste, tmp_path):
    path = tmp_path / "all.ics"
    async with opened(season, "dates") as pilot:
        await pilot.press("w", "ctrl+u")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
        assert "SUMMARY:Barn dance" in path.read_text(encoding="utf-8")
        await pilot.press("i")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "DatesScreen"
        assert len(all_dates(season)) == 3


async def test_today_says_what_is_coming(season, opened, picture):
    async with opened(season, "today") as pilot:
        shown = picture(pilot.app)
        assert "Kitchen session" in shown
        assert "in 2 days" in shown


async def test_hostile_titles_are_only_shown(season, opened, picture, nasty):
    for title in nasty[:6]:
        save_date(season, DateDraft("every friday", title, title, title))
    async with opened(season, "dates", (120, 40)) as pilot:
        text = picture(pilot.app)
        for shown in ("The [Humours] of Glen", "[/]", "[@click=app.quit]Quit[/]", "leftright"):
            assert shown in text
        for _ in range(6):
            await pilot.press("down", "enter")
            await pilot.pause()
            await pilot.press("escape")
            await pilot.pause()
        assert pilot.app.is_running


async def test_those_not_ready_are_asked_one_after_the_other(season, opened):
    async with opened(season, "dates") as pilot:
        await pilot.press("down", "enter")
        await pilot.pause()
        view = date_view(season, pilot.app.screen.uuid)
        waiting = [tune.tune.uuid for tune in view.tunes if tune.readiness.value != "ready"]
        wanted = {row.tune.uuid for row in tune_rows(season) if row.tune.status.value == "wanted"}
        await pilot.press("r")
        await pilot.pause()
        assert name(pilot.app) == "RoundScreen"
        assert [one.tune.uuid for one in pilot.app.screen.run.planned.asked] == [
            uuid for uuid in waiting if uuid not in wanted
        ]
        await pilot.press("space", "4", "escape")
        await pilot.pause()
        assert len(season.repertoire.checks.all(waiting[0])) == 1
