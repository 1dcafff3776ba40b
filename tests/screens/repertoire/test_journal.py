"""The journal by keys: days, what was heard, looking, writing it out."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tunememory.dates.changing import DateDraft, add_day_off, save_date
from tunememory.history import record_check_away
from tunememory.library.adding import Draft
from tunememory.library.overview import tune_rows
from tunememory.practice.heard import all_heard, write_heard
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Level
from tunememory.ui.practice.journal import Calendar, shown_days
from tunememory.ui.widgets import RowList

SIZES = [(60, 20), (80, 24)]


@pytest.fixture
def week(repertoire):
    """A session with a few days written about."""
    session = repertoire()
    titles = {row.tune.title: row.tune.uuid for row in tune_rows(session)}
    now = session.now()
    record_check_away(
        session, titles["Miss McLeod's Reel"], {"A": Level.SIT_OUT}, now - timedelta(minutes=9)
    )
    log_practice(session, titles["Off to California"], "scale", 3.0)
    log_practice(session,
        titles["Off to California"], minutes=9.0, words="B part slowly", head_only=True,
        at=now - timedelta(days=1),
    )  # fmt: skip
    session.repertoire.pick_ups.save(session.day() - timedelta(days=1), "B part: phrase 3")
    write_heard(session, "", "the box player", "The Old Bush")
    save_date(session, DateDraft("every thursday", "Kitchen session", "session"))
    add_day_off(session, "every sunday")
    return session


def lines(app):
    return app.screen.query_one(RowList)


def written(app):
    return "\n".join("".join(text for text, _ in row.spans) for row in lines(app).rows)


def name(app):
    return type(app.screen).__name__


@pytest.mark.parametrize("size", SIZES)
async def test_looks_as_drawn(week, opened, same_picture, size):
    async with opened(week, "journal", size) as pilot:
        same_picture(pilot.app, f"journal-{size[0]}x{size[1]}")
        await pilot.press("up", "enter")
        await pilot.pause()
        same_picture(pilot.app, f"journal-day-{size[0]}x{size[1]}")


@pytest.mark.parametrize("size", SIZES)
async def test_an_empty_journal_says_what_comes_here(repertoire, opened, same_picture, size):
    async with opened(repertoire((), history=False), "journal", size) as pilot:
        same_picture(pilot.app, f"journal-empty-{size[0]}x{size[1]}")
        await pilot.press("enter", "enter", "g", "e", "w", "x", "escape", "down", "right")
        assert name(pilot.app) == "JournalScreen"


async def test_arrows_go_by_days_and_weeks(week, opened):
    async with opened(week, "journal") as pilot:
        today = week.day()
        await pilot.press("up")
        await pilot.pause()
        assert pilot.app.screen.query_one(Calendar).cursor == today - timedelta(days=1)
        assert "B part slowly" in written(pilot.app)
        assert "pick up here: B part: phrase 3" in written(pilot.app)
        assert "9 min in the head" in written(pilot.app)
        await pilot.press("left", "down", "right")
        await pilot.pause()
        assert pilot.app.screen.query_one(Calendar).cursor == today
        await pilot.press("right", "down", "down")
        await pilot.pause()
        assert "Kitchen session" in written(pilot.app)


async def test_a_tune_heard_is_one_short_line(week, opened, picture):
    async with opened(week, "journal") as pilot:
        await pilot.press("h", *"Copperplate", "enter")
        await pilot.pause()
        assert "Written down: Copperplate." in picture(pilot.app)
        assert all_heard(week)[0].name == "Copperplate"
        # The line is ready for the next one; of one's own three letters are enough.
        await pilot.press(*"dro", "enter")
        await pilot.pause()
        newest = {one.name: one for one in all_heard(week)}
        assert newest["Drowsy Maggie"].title == "Drowsy Maggie"
        assert picture(pilot.app).count("♪ ") >= 3
        await pilot.press("escape")
        await pilot.pause()
        assert "heard: Copperplate" in written(pilot.app)


async def test_what_is_typed_can_be_taken_though_a_tune_answers_to_it(week, opened):
    async with opened(week, "heard") as pilot:
        await pilot.press(*"miss", "down", "enter")
        await pilot.pause()
        assert "miss" in {one.name for one in all_heard(week) if not one.tune}


@pytest.mark.parametrize("size", SIZES)
async def test_heard_tonight_looks_as_drawn(week, opened, same_picture, frozen_cursor, size):
    async with opened(week, "heard", size) as pilot:
        same_picture(pilot.app, f"heard-{size[0]}x{size[1]}")
        await pilot.press(*"the")
        await pilot.pause()
        same_picture(pilot.app, f"heard-typed-{size[0]}x{size[1]}")


async def test_a_line_already_written_is_changed_from_the_list(week, opened):
    async with opened(week, "heard") as pilot:
        await pilot.press("down", "enter")
        await pilot.pause()
        await pilot.press(*"The Found One", "enter")
        await pilot.pause()
        assert [one.name for one in all_heard(week)] == ["The Found One"]
        assert name(pilot.app) == "HeardTonight"


async def test_two_tunes_of_one_name_are_told_apart(repertoire, opened):
    session = repertoire((Draft(("Same",), "reel", "D"), Draft(("Same",), "jig", "G")))
    async with opened(session, "heard") as pilot:
        await pilot.press(*"same", "down", "enter")
        await pilot.pause()
        second = [row.tune.uuid for row in tune_rows(session)][1]
        assert [one.tune for one in all_heard(session)] == [second]


async def test_nothing_at_all_is_not_kept_and_says_why(week, opened, picture):
    async with opened(week, "heard") as pilot:
        await pilot.press("enter", "enter")
        await pilot.pause()
        assert "write a name, or who played it" in picture(pilot.app)
        assert len(all_heard(week)) == 1
        await pilot.press("down", *"the piper", "enter")
        await pilot.pause()
        assert "the piper" in {one.from_whom for one in all_heard(week)}


async def test_the_last_nameless_one_is_joined_from_the_calendar(week, opened, picture):
    async with opened(week, "journal") as pilot:
        await pilot.press("g")
        await pilot.pause()
        assert "from the box player, like The Old Bush: which tune" in picture(pilot.app)
        await pilot.press(*"dro", "enter")
        await pilot.pause()
        assert all_heard(week)[0].title == "Drowsy Maggie"
        assert "name it" not in picture(pilot.app)
        await pilot.press("g")
        await pilot.pause()
        assert name(pilot.app) == "JournalScreen"


async def test_a_nameless_tune_is_joined_to_its_name(week, opened):
    async with opened(week, "journal") as pilot:
        await pilot.press("enter", "down", "down", "down")
        await pilot.pause()
        # Six keys or fewer: g, three letters, Enter.
        await pilot.press("g", *"dro", "enter")
        await pilot.pause()
        assert all_heard(week)[0].title == "Drowsy Maggie"
        assert "heard: Drowsy Maggie" in written(pilot.app)


async def test_what_was_heard_can_be_wanted_changed_and_taken_out(week, opened):
    async with opened(week, "journal") as pilot:
        await pilot.press("enter", "down", "down", "down", "e", *"New One", "enter")
        await pilot.pause()
        assert all_heard(week)[0].name == "New One"
        await pilot.press("w")
        await pilot.pause()
        assert "New One" in {row.tune.title for row in tune_rows(week)}
        await pilot.press("x")
        await pilot.pause()
        assert all_heard(week) == ()


async def test_looking_goes_through_all_days(week, opened):
    async with opened(week, "journal") as pilot:
        await pilot.press("slash", *"phr", "enter")
        await pilot.pause()
        assert "pick up here: B part: phrase 3" in written(pilot.app)
        assert "old bush" not in written(pilot.app).lower()
        await pilot.press("escape")
        await pilot.pause()
        assert "Old Bush" in written(pilot.app)
        await pilot.press("slash", *"zzz", "enter")
        await pilot.pause()
        assert "“zzz” stands nowhere" in written(pilot.app)


async def test_by_tune(week, opened):
    async with opened(week, "journal") as pilot:
        await pilot.press("t", *"cali", "enter")
        await pilot.pause()
        assert len(lines(pilot.app).rows) == 2
        assert "its scale" in written(pilot.app)
        await pilot.press("enter")
        await pilot.pause()
        assert name(pilot.app) == "TunePage"


async def test_writing_it_out(week, opened, paste, tmp_path):
    async with opened(week, "journal") as pilot:
        path = tmp_path / "my.md"
        await pilot.press("o", "ctrl+u")
        await paste(pilot, str(path))
        await pilot.press("enter")
        await pilot.pause()
        assert "B part: phrase 3" in path.read_text(encoding="utf-8")
        await pilot.press("o", "ctrl+u", *"x.doc", "enter")
        await pilot.pause()
        assert name(pilot.app) == "AskLine"


async def test_hostile_words_are_only_shown(week, opened, picture, nasty):
    for words in nasty[:6]:
        write_heard(week, words, words, words, words)
    async with opened(week, "journal", (120, 40)) as pilot:
        text = picture(pilot.app)
        for shown in ("The [Humours] of Glen", "[/]", "[@click=app.quit]Quit[/]", "leftright"):
            assert shown in text
        assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(text)


@pytest.mark.parametrize("width", [12, 40, 60, 80, 200])
def test_the_calendar_holds_whole_weeks_with_both_days(width):
    today = date(2026, 11, 24)
    for around in (today, today - timedelta(days=700), today + timedelta(days=400)):
        first, last = shown_days(today, around, width)
        assert first.weekday() == 0
        assert last.weekday() == 6
        assert first <= around <= last
