"""Fading: three staves, the list of one day, a check from where the notes are not seen."""

from __future__ import annotations

import pytest

from tunememory.ui.widgets import RowList

SIZES = [(60, 20), (80, 24), (120, 40)]


def rows(app):
    return app.screen.query_one(RowList).rows


@pytest.mark.parametrize("size", SIZES)
async def test_staves_look_as_drawn(repertoire, opened, same_picture, still_memory, size):
    async with opened(repertoire(), "fading", size) as pilot:
        same_picture(pilot.app, f"fading-{size[0]}x{size[1]}")
        await pilot.press("right", "right")
        same_picture(pilot.app, f"fading-month-{size[0]}x{size[1]}")


async def test_weakest_first_and_only_what_is_asked_for(repertoire, opened):
    async with opened(repertoire(), "fading") as pilot:
        chances = [row.chance.chance for row in rows(pilot.app)]
        assert chances == sorted(chances)
        names = {row.tune.title for row in rows(pilot.app)}
        assert "The Blackbird" not in names  # resting
        assert "Drowsy Maggie" not in names  # wanted


async def test_later_is_never_better(repertoire, opened):
    async with opened(repertoire(), "fading") as pilot:
        today = {row.tune.uuid: row.chance.chance for row in rows(pilot.app)}
        await pilot.press("right")
        week = {row.tune.uuid: row.chance.chance for row in rows(pilot.app)}
        await pilot.press("right", "right", "right")
        month = {row.tune.uuid: row.chance.chance for row in rows(pilot.app)}
        assert all(month[tune] <= week[tune] <= today[tune] for tune in today)
        assert any(month[tune] < today[tune] - 0.03 for tune in today)
        await pilot.press("left", "left", "left")
        assert {row.tune.uuid: row.chance.chance for row in rows(pilot.app)} == today


async def test_the_cursor_follows_its_tune_to_another_day(repertoire, opened):
    async with opened(repertoire(), "fading") as pilot:
        await pilot.press("down", "down")
        here = pilot.app.screen.query_one(RowList).current.tune.uuid
        await pilot.press("right")
        assert pilot.app.screen.query_one(RowList).current.tune.uuid == here


async def test_enter_opens_the_tune_and_escape_leads_back(repertoire, opened):
    async with opened(repertoire(), "fading") as pilot:
        screen = pilot.app.screen
        await pilot.press("enter")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "TunePage"
        await pilot.press("escape")
        await pilot.pause()
        assert pilot.app.screen is screen


async def test_a_tune_can_be_asked_for_at_once(repertoire, opened, picture):
    session = repertoire()
    async with opened(session, "fading") as pilot:
        row = pilot.app.screen.query_one(RowList).current
        await pilot.press("c")
        await pilot.pause()
        assert type(pilot.app.screen).__name__ == "RoundScreen"
        assert row.tune.title in picture(pilot.app)
        await pilot.press("space", "4")
        await pilot.pause()
        assert len(session.repertoire.checks.all(row.tune.uuid)) == 1
        assert session.repertoire.checks.all(row.tune.uuid)[0].round_kind.value == "loose"


async def test_nothing_to_fade_says_so(repertoire, opened, same_picture, still_memory):
    async with opened(repertoire(()), "fading", (60, 20)) as pilot:
        same_picture(pilot.app, "fading-empty-60x20")
        await pilot.press("enter", "c", "right", "down")
        assert type(pilot.app.screen).__name__ == "FadingScreen"
