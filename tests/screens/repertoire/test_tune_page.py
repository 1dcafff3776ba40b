"""A tune's page: what it is, how it starts, how well it is remembered, and its few keys."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tunememory.errors import NotDoneError
from tunememory.history import record
from tunememory.library.adding import Draft, remove_tune
from tunememory.library.sets import save_set
from tunememory.music.tune import Status
from tunememory.practice.journal import journal_of
from tunememory.practice.ways import log_practice, ways_of
from tunememory.recall.check import Check, Level, Prompt, RoundKind, join_to
from tunememory.session import open_session


def named(session, title):
    return next(tune.uuid for tune in session.tunes.values() if tune.title.startswith(title))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_page_looks_as_drawn(repertoire, opened, same_picture, still_memory, size):
    session = repertoire()
    uuid = named(session, "The Flowers")
    async with opened(session, "tune", size, uuid=uuid) as pilot:
        same_picture(pilot.app, f"tune-page-{size[0]}x{size[1]}")
        await pilot.press("end")
        same_picture(pilot.app, f"tune-page-end-{size[0]}x{size[1]}")


async def test_a_tune_with_only_a_name_has_a_page(repertoire, opened, same_picture, still_memory):
    session = repertoire()
    async with opened(session, "tune", (60, 20), uuid=named(session, "The Harvest")) as pilot:
        same_picture(pilot.app, "tune-page-only-a-name-60x20")


@pytest.mark.parametrize(("key", "status"), [("l", "learning"), ("r", "resting"), ("w", "wanted")])
async def test_status_keys_change_the_tune(repertoire, opened, picture, key, status):
    session = repertoire()
    uuid = named(session, "Haste")
    async with opened(session, "tune", uuid=uuid) as pilot:
        await pilot.press(key)
        await pilot.pause()
        assert session.tune(uuid).status is Status(status)
        assert f"· {status}" in picture(pilot.app)
        await pilot.press("k")
        await pilot.pause()
        assert session.tune(uuid).status is Status.KEPT


async def test_removing_asks_first(repertoire, opened, picture):
    session = repertoire()
    uuid = named(session, "Haste")
    async with opened(session, "tune", uuid=uuid) as pilot:
        page = pilot.app.screen
        await pilot.press("x")
        await pilot.pause()
        assert "Take “Haste to the Wedding” out of the repertoire?" in picture(pilot.app)
        await pilot.press("n")
        await pilot.pause()
        assert pilot.app.screen is page
        assert session.tune(uuid)
        await pilot.press("x", "y")
        await pilot.pause()
        assert pilot.app.screen is not page
        with pytest.raises(NotDoneError):
            session.tune(uuid)


async def test_a_tune_removed_in_another_window_closes_its_page(repertoire, opened):
    session = repertoire()
    uuid = named(session, "Haste")
    async with opened(session, "tune", uuid=uuid) as pilot:
        page = pilot.app.screen
        with open_session(session.path, session.clock) as other:
            remove_tune(other, uuid)
        page.refill()
        await pilot.pause()
        assert pilot.app.screen is not page
        assert pilot.app.is_running


async def test_editing_shows_on_the_page(repertoire, opened, picture):
    session = repertoire()
    async with opened(session, "tune", uuid=named(session, "Haste")) as pilot:
        await pilot.press("e")
        await pilot.pause()
        await pilot.press(*" again", "ctrl+s")
        await pilot.pause()
        assert picture(pilot.app).splitlines()[0].strip().startswith("Haste to the Wedding again")


async def test_hostile_facts_are_shown_and_do_nothing(repertoire, opened, picture, nasty):
    book = tuple(
        Draft(
            (title, title + " too"), kind=title, key="D", source=title, note=title,
            starts=(("A", "d2 fa"),),
        )
        for title in nasty
    )  # fmt: skip
    session = repertoire(book, history=False)
    async with opened(session, "tunes", (60, 20)) as pilot:
        for uuid in session.tunes:
            pilot.app.open_tune(uuid)
            await pilot.pause()
            text = picture(pilot.app)
            assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(text)
            assert all(len(line) <= 60 for line in text.splitlines())
            await pilot.click(offset=(6, 2))
            await pilot.press("end")
            assert not {"\x1b", "\x07", "\x9b", "\u202e"} & set(picture(pilot.app))
            assert type(pilot.app.screen).__name__ == "TunePage"
            await pilot.press("escape")
            await pilot.pause()


async def test_the_page_says_which_ways_were_done_and_offers_the_next(repertoire, opened, picture):
    session = repertoire()
    uuid = named(session, "Haste")
    log_practice(session, uuid, "scale", 3.0, at=session.now() - timedelta(days=9))
    log_practice(session, uuid, "scale", 3.0, at=session.now() - timedelta(days=3))
    log_practice(session, uuid, words="only the [/] turn", at=session.now() - timedelta(days=2))
    async with opened(session, "tune", (80, 60), uuid=uuid) as pilot:
        await pilot.pause()
        shown = " ".join(picture(pilot.app).split())
        assert "3 days ago its scale, 2 days" in shown
        assert "2 days ago only the [/] turn" in shown
        (offered,) = (way for way in ways_of(session, uuid) if way.next)
        assert f"→ next {offered.way.name}: {offered.way.purpose}" in shown
        await pilot.press("y")
        await pilot.pause()
        assert journal_of(session, uuid)[0].way == offered.way.id
        shown = " ".join(picture(pilot.app).split())
        assert f"today {offered.way.name}" in shown
        assert f"→ next {offered.way.name}" not in shown
        await pilot.press("j", *"by heart", "enter")
        await pilot.pause()
        assert "today by heart" in " ".join(picture(pilot.app).split())
        await pilot.press("u", "u", "u")
        await pilot.pause()
        assert len(journal_of(session, uuid)) == 3


async def test_a_join_stands_in_what_came(repertoire, opened, picture):
    session = repertoire()
    first, second = named(session, "Haste"), named(session, "The Irish")
    save_set(session, "Opener", (first, second))
    join = ((join_to(second), Level.FIND),)
    at = (session.now(), session.day())
    record(session, Check("check-1", first, *at, RoundKind.FIRST, Prompt.JOIN,
                       join))  # fmt: skip
    async with opened(session, "tune", (80, 60), uuid=first) as pilot:
        assert "on into The Irish Washerwoman: would find it" in picture(pilot.app)
