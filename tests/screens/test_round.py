"""A round, by keys and by pictures: how its prompts are answered.

The pictures show what a real file gives of the printed tunes: their own fingers, tuning, twins
and chances.
"""

import pytest

from tunememory.recall.check import Level, Prompt
from tunememory.ui.round import screen as round_module
from tunememory.ui.round.screen import RoundScreen

SIZES = [(60, 20), (80, 24), (120, 40)]


@pytest.mark.parametrize(("width", "height"), SIZES)
async def test_a_prompt_its_answer_and_the_next_one(begin, same_picture, width, height) -> None:
    async with begin(size=(width, height)) as (app, pilot, _):
        same_picture(app, f"round-how-{width}x{height}")
        await pilot.press("h", "h")
        same_picture(app, f"round-hint-{width}x{height}")
        await pilot.press("space", "2", "space")
        same_picture(app, f"round-answer-{width}x{height}")
        await pilot.press("4")
        same_picture(app, f"round-what-{width}x{height}")
        await pilot.press("space", "1", "escape")
        same_picture(app, f"round-done-{width}x{height}")


@pytest.mark.parametrize(("width", "height"), SIZES[:2])
async def test_hostile_titles_are_only_shown(begin, open_book, same_picture, width, height) -> None:
    session = open_book(
        {
            2: "[/] [red]Off[/] to \x1b[2J\x9bCalifornia \u202egnol",
            3: "X" * 10_000,
            7: "[@click=app.quit]Click me[/]",
        }
    )
    async with begin(session, size=(width, height)) as (app, pilot, _):
        same_picture(app, f"round-hostile-{width}x{height}")
        await pilot.press("space", "4", "space")
        same_picture(app, f"round-hostile-long-{width}x{height}")
        await pilot.press("x", "enter", "1")
        same_picture(app, f"round-hostile-said-{width}x{height}")


async def test_two_keys_a_tune(begin) -> None:
    async with begin() as (_, pilot, run):
        await pilot.press("space", "4", "space", "3", "space", "2", "space", "1")
        assert run.levels == [
            {Level.KICK_OFF}, {Level.FIND}, {Level.JOIN_IN}, {Level.SIT_OUT},
        ]  # fmt: skip
        assert [check.seconds for check in run.checks] == [2.0] * 4
        assert all(check.hints == 0 for check in run.checks)


async def test_enter_alone_takes_what_the_clock_suggests(begin, monkeypatch) -> None:
    monkeypatch.setattr(round_module, "HELD_SECONDS", 0.0)
    async with begin() as (_, pilot, run):
        await pilot.press("enter", "enter", "enter", "down", "enter")
        assert run.levels == [
            {Level.KICK_OFF}, {Level.FIND},
        ]  # fmt: skip


async def test_the_mark_stands_where_the_clock_says_and_the_arrows_move_it(
    begin, monkeypatch
) -> None:
    monkeypatch.setattr(round_module, "HELD_SECONDS", 0.0)
    async with begin() as (app, pilot, run):
        monkeypatch.setattr(RoundScreen, "elapsed", lambda self, moment: 7.0)
        await pilot.press("enter")
        assert app.screen._sheet.marked is Level.FIND
        await pilot.press("enter", "enter", "down", "down", "down", "down", "space")
        await pilot.press("space", "up", "up", "up", "enter")
        assert run.levels == [
            {Level.FIND}, {Level.SIT_OUT}, {Level.KICK_OFF},
        ]  # fmt: skip


async def test_without_a_time_enter_asks_for_the_mark(begin, monkeypatch, picture) -> None:
    monkeypatch.setattr(round_module, "HELD_SECONDS", 0.0)
    async with begin() as (app, pilot, run):
        monkeypatch.setattr(RoundScreen, "elapsed", lambda self, moment: None)
        await pilot.press("enter", "enter")
        assert not run.checks
        assert "Up and down mark how it came" in picture(app)
        await pilot.press("up", "enter")
        assert run.levels == [{Level.SIT_OUT}]


async def test_a_held_enter_does_not_run_through_the_round(begin, monkeypatch) -> None:
    monkeypatch.setattr(round_module, "HELD_SECONDS", 60.0)
    async with begin() as (app, pilot, run):
        await pilot.press(*["enter"] * 6)
        assert app.screen.answer.shown
        assert not run.checks
        await pilot.press(*["space"] * 6)
        assert not run.checks


async def test_a_level_before_the_answer_gives_nothing(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("4", "1", "b")
        assert not run.checks
        assert "Enter first" in picture(app)
        await pilot.press("h", "up")
        assert "Enter first" in picture(app)


async def test_hints_cap_the_level_and_say_so(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("h")
        assert "2 at most" in picture(app)
        assert "G major" in picture(app)
        await pilot.press("space", "4")
        assert not run.checks
        assert "A hint was shown: give 2 or less." in picture(app)
        await pilot.press("2")
        assert dict(run.checks[0].levels) == {"key": 2, "A": 2, "B": 2}
        assert run.checks[0].hints == 1


async def test_the_last_hint_shows_the_answer(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("h", "h", "h", "h")
        assert app.screen.answer.shown
        await pilot.press("1")
        assert run.checks[0].hints == 4


async def test_strands_can_be_rated_alone(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("space", "b")
        assert "B start: which level?" in picture(app)
        await pilot.press("1", "k", "4", "3")
        assert dict(run.checks[0].levels) == {"key": 4, "A": 3, "B": 1}


async def test_a_strand_that_is_not_there_is_said(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("space", "g")
        assert "The G start is not asked for here." in picture(app)
        assert not run.checks


async def test_wrong_key_and_strayed_are_kept(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("space", "4", "space", "w", "x")
        shown = picture(app)
        assert "Strayed into which tune?" in shown
        twin = run.waiting[0].twins[0]
        assert app.screen._sheet.choices[0][0] == twin.tune
        await pilot.press("down", "up", "enter")
        assert f"strayed into {twin.title}" in picture(app)
        assert "began in another key" in picture(app)
        await pilot.press("2")
        check = run.checks[1]
        assert (check.seconds, check.hints) == (2.0, 0)
        assert (check.wrong_key, check.strayed_into) == (True, twin.tune)


async def test_escape_leaves_the_list_before_the_round(begin) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("space", "x", "escape")
        assert not run.ended
        assert not app.screen._sheet.choices
        await pilot.press("4")
        assert len(run.checks) == 1


async def test_a_key_that_does_nothing_says_why(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        assert [asked.prompt for asked in run.waiting[:3]] == [Prompt.HOW, Prompt.HOW, Prompt.WHAT]
        for key, words in (
            ("u", "There is no level to take back yet."),
            ("w", "Enter first"),
            ("enter", ""),
            ("h", "The answer is shown already: say how it came."),
            ("s", "The answer is shown already: say how it came."),
            ("1", ""),
            ("enter", ""),
            ("1", ""),
            ("enter", ""),
            ("x", "Only the name is asked for here."),
        ):
            await pilot.press(key)
            assert words in picture(app), key
