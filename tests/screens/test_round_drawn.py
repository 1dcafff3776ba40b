"""Starts on the staff and on the strings in a round."""

from datetime import UTC, datetime

import pytest

from tests.screens.seen import asked, loose_round, round_on
from tunememory.clock import fixed_clock
from tunememory.library.adding import Draft, add_tune
from tunememory.recall.check import Prompt
from tunememory.session import open_session
from tunememory.ui.round import screen as round_module

TITLE = "Haste to the Wedding"
# O'Neill's Music of Ireland (1903); the starts are shortened freely.
TUNE = Draft((TITLE,), "jig", "D", "6/8",
             starts=(("A", "AFA Aaf|ede fdB"), ("B", "dfa agf|efe efg")))  # fmt: skip
NO_NOTES = Draft(("The Harvest Home",), "hornpipe", "D", "C|")


@pytest.fixture
def session(tmp_path, monkeypatch):
    monkeypatch.setattr(round_module.RoundScreen, "elapsed", lambda self, moment: 2.0)
    clock = fixed_clock(datetime(2026, 11, 24, 7, 10, tzinfo=UTC))
    with open_session(tmp_path / "my.tunes", clock) as opened:
        add_tune(opened, TUNE)
        add_tune(opened, NO_NOTES)
        yield opened


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 60)])
async def test_the_answer_is_drawn(session, same_picture, picture, size):
    how = asked(session, TITLE, Prompt.HOW, "key", "A", "B")
    async with round_on(session, loose_round(session, how), size=size) as pilot:
        await pilot.press("space")
        before = picture(pilot.app)
        await pilot.press("v")
        same_picture(pilot.app, f"round-staff-{size[0]}x{size[1]}")
        await pilot.press("v")
        same_picture(pilot.app, f"round-strings-{size[0]}x{size[1]}")
        await pilot.press("v", "h")
        after = picture(pilot.app)
        assert after.splitlines()[:-3] == before.splitlines()[:-3]


async def test_levels_are_given_beside_a_drawn_answer(session, picture):
    hows = [asked(session, TITLE, Prompt.HOW, *strands) for strands in (("key", "A"), ("B",))]
    async with round_on(session, loose_round(session, *hows)) as pilot:
        await pilot.press("v")
        assert "Starts are shown on the staff." in picture(pilot.app)
        assert "●" not in picture(pilot.app)
        await pilot.press("space")
        assert "▸ 4 would kick it off" in picture(pilot.app)
        await pilot.press("down")
        assert "▸ 3 would find it" in picture(pilot.app)
        first = picture(pilot.app)
        await pilot.press("pagedown")
        assert picture(pilot.app) != first
        await pilot.press("pageup")
        assert picture(pilot.app) == first
        run = pilot.app.screen.run
        await pilot.press("enter")
        assert run.done == 1
        # The next answer is drawn too.
        await pilot.press("space")
        assert picture(pilot.app).count("●") > 3
        await pilot.press("x")
        assert "Strayed into which tune?" in picture(pilot.app)


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
async def test_a_start_to_be_named_is_drawn_without_its_key(session, same_picture, picture, size):
    what = asked(session, TITLE, Prompt.WHAT, "name")
    async with round_on(session, loose_round(session, what), size=size) as pilot:
        await pilot.press("v")
        same_picture(pilot.app, f"round-what-staff-{size[0]}x{size[1]}")
        text = picture(pilot.app)
        assert TITLE not in text
        assert text.count("♯") == len([letter for letter in "AFAAafedefdB" if letter in "Ff"])
        await pilot.press("h")
        assert "D major" in picture(pilot.app)


async def test_what_is_asked_by_ear_is_not_drawn(session, picture, player):
    what = asked(session, TITLE, Prompt.WHAT, "name")
    async with round_on(session, loose_round(session, what)) as pilot:
        pilot.app.screen.answer.asked_by = "heard"
        await pilot.press("v")
        assert "●" not in picture(pilot.app)
        assert "listen" in picture(pilot.app)


async def test_a_tune_without_notes_has_nothing_to_draw(session, picture):
    how = asked(session, "The Harvest Home", Prompt.HOW, "key")
    async with round_on(session, loose_round(session, how)) as pilot:
        await pilot.press("space", "v")
        assert "▸ 4 would kick it off" in picture(pilot.app)
        assert "D major" in picture(pilot.app)
        await pilot.press("4")
        assert pilot.app.screen.run.summary().asked == 1
