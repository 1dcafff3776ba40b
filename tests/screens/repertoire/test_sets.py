"""Sets by keys: made, put in order, named, taken apart."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tunememory.dates.changing import DateDraft, save_date
from tunememory.history import record
from tunememory.library.overview import tune_rows
from tunememory.library.sets import all_sets, save_set, set_view
from tunememory.recall.check import Check, Level, Prompt, RoundKind, join_to
from tunememory.ui.widgets import RowList

SIZES = [(60, 20), (80, 24)]


@pytest.fixture
def with_sets(repertoire):
    """A session with two sets."""
    session = repertoire()
    titles = {row.tune.title: row.tune.uuid for row in tune_rows(session)}
    opener = [titles[name] for name in ("Haste to the Wedding", "The Irish Washerwoman")]
    reels = [
        titles[name]
        for name in ("Miss McLeod's Reel", "The Flowers of Edinburgh", "Off to California")
    ]
    save_set(session, "Thursday opener", opener)
    save_set(session, "", reels)
    return session


def name(app):
    return type(app.screen).__name__


@pytest.mark.parametrize("size", SIZES)
async def test_looks_as_drawn(with_sets, opened, same_picture, still_memory, size):
    async with opened(with_sets, "sets", size) as pilot:
        same_picture(pilot.app, f"sets-{size[0]}x{size[1]}")
        await pilot.press("enter")
        await pilot.pause()
        same_picture(pilot.app, f"set-{size[0]}x{size[1]}")


@pytest.mark.parametrize("size", SIZES)
async def test_without_sets_it_says_how_to_make_one(repertoire, opened, same_picture, size):
    async with opened(repertoire(()), "sets", size) as pilot:
        same_picture(pilot.app, f"sets-empty-{size[0]}x{size[1]}")
        await pilot.press("enter", "down")
        assert name(pilot.app) == "SetsScreen"


async def test_a_set_is_made_of_tunes_in_their_order(repertoire, opened):
    session = repertoire()
    async with opened(session, "sets") as pilot:
        await pilot.press("n", *"wash", "enter", *"haste", "enter", "ctrl+s")
        await pilot.pause()
        assert name(pilot.app) == "AskLine"
        await pilot.press(*"jigs", "enter")
        await pilot.pause()
        (view,) = all_sets(session)
        assert view.name == "jigs"
        assert [tune.title for tune in view.tunes] == [
            "The Irish Washerwoman",
            "Haste to the Wedding",
        ]
        assert [row.uuid for row in pilot.app.screen.query_one(RowList).rows] == [view.uuid]


async def test_one_tune_is_no_set(repertoire, opened):
    session = repertoire()
    async with opened(session, "sets") as pilot:
        await pilot.press("n", *"wash", "enter", "ctrl+s")
        await pilot.pause()
        assert name(pilot.app) == "SetsScreen"
        assert all_sets(session) == ()


async def test_a_tune_is_moved_and_the_cursor_goes_with_it(with_sets, opened):
    async with opened(with_sets, "sets") as pilot:
        await pilot.press("enter")
        await pilot.pause()
        rows = pilot.app.screen.query_one(RowList)
        before = [row.tune.title for row in rows.rows if row.tune]
        await pilot.press("d")
        await pilot.pause()
        after = [row.tune.title for row in rows.rows if row.tune]
        assert after == [before[1], before[0], *before[2:]]
        assert rows.current.tune.title == before[0]
        await pilot.press("u", "u")
        await pilot.pause()
        assert [row.tune.title for row in rows.rows if row.tune] == before
        await pilot.press("down", "u", "d")
        await pilot.pause()
        assert [row.tune.title for row in rows.rows if row.tune] == before


async def test_joins_say_whether_they_were_asked(with_sets, opened, picture):
    async with opened(with_sets, "sets") as pilot:
        await pilot.press("down", "enter")
        await pilot.pause()
        assert "not asked yet" in picture(pilot.app)
        first, second = (tune.tune for tune in set_view(with_sets, pilot.app.screen.uuid).tunes)
        join = ((join_to(second), Level.KICK_OFF),)
        check = Check("check-1", first, with_sets.now(), with_sets.day(), RoundKind.FIRST,
                      Prompt.JOIN, join)  # fmt: skip
        record(with_sets, check)
        pilot.app.screen.refill()
        await pilot.press("down")
        await pilot.pause()
        shown = picture(pilot.app)
        assert "not asked yet" not in shown
        assert "and on into · today: would kick it off" in shown
        titles = [tune.title for tune in set_view(with_sets, pilot.app.screen.uuid).tunes]
        assert f"{titles[0]} into {titles[1]}. Today: would kick it off." in shown


async def test_a_set_is_named_and_taken_apart(with_sets, opened):
    async with opened(with_sets, "sets") as pilot:
        await pilot.press("enter", "r", *"Reels", "enter")
        await pilot.pause()
        assert "Reels" in {view.name for view in all_sets(with_sets)}
        await pilot.press("x", "y")
        await pilot.pause()
        assert name(pilot.app) == "SetsScreen"
        assert [view.name for view in all_sets(with_sets)] == ["Thursday opener"]
        assert len(tune_rows(with_sets)) == 10


async def test_hostile_names_are_only_shown(with_sets, opened, picture, nasty):
    tunes = [row.tune.uuid for row in tune_rows(with_sets)][:2]
    for title in nasty[:6]:
        save_set(with_sets, title, tunes)
    async with opened(with_sets, "sets", (120, 40)) as pilot:
        text = picture(pilot.app)
        for shown in ("The [Humours] of Glen", "[/]", "[@click=app.quit]Quit[/]", "leftright"):
            assert shown in text
        await pilot.press("enter")
        await pilot.pause()
        assert pilot.app.is_running


async def test_a_set_is_asked_from_its_page(with_sets, opened, picture):
    async with opened(with_sets, "sets") as pilot:
        await pilot.press("enter")
        await pilot.pause()
        uuid = pilot.app.screen.uuid
        await pilot.press("c")
        await pilot.pause()
        assert name(pilot.app) == "RoundScreen"
        await pilot.press("space", "3", "space", "2", "space", "4", "enter")
        await pilot.pause()
        assert name(pilot.app) == "SetPage"
        joins = set_view(with_sets, uuid).joins
        assert [join.asked[0][1] for join in joins] == [Level.JOIN_IN, Level.KICK_OFF]
        assert "and on into · today: would join in" in picture(pilot.app)


async def test_who_calls_them_medleys_reads_medley_everywhere(with_sets, opened, picture):
    with_sets.save_settings(replace(with_sets.settings, set_word="medley"))
    opener = next(one.uuid for one in all_sets(with_sets) if one.name == "Thursday opener")
    dance = save_date(with_sets, DateDraft("+3d", "Dance", sets=(opener,)))
    bare = save_date(with_sets, DateDraft("+4d", "Fair"))
    async with opened(with_sets, "sets", (120, 60)) as pilot:

        async def shown(*keys: str) -> str:
            await pilot.press(*keys)
            await pilot.pause()
            text = picture(pilot.app)
            assert not re.search(r"\bsets?\b", text, re.IGNORECASE), text
            return text

        assert "2 medleys" in await shown()
        for screen, arguments, key, said in (
            ("today", {}, "", "What fades"),
            ("set", {"uuid": opener}, "", "Thursday opener"),
            ("dates", {}, "", "Fair"),
            ("date", {"uuid": dance.uuid}, "", "medleys: Thursday opener"),
            ("date", {"uuid": dance.uuid}, "s", "Which medleys are wanted there?"),
            ("date", {"uuid": bare.uuid}, "", "s for medleys"),
            ("card", {}, "o", "A card of which date, medley, status or state?"),
        ):
            pilot.app.open_screen(screen, **arguments)
            await pilot.pause()
            assert "medley" in await shown("question_mark")
            await shown("escape")
            assert "Go to the medleys" in await shown("ctrl+p")
            await shown("escape")
            assert said in await shown(*key)
            await pilot.press("escape")
