"""A round, by keys and by pictures: how it goes on, and how it ends."""

from tunememory.errors import NotDoneError
from tunememory.recall.check import Prompt, RoundKind
from tunememory.rounds.planning import RoundWish
from tunememory.ui.round.screen import RoundScreen
from tunememory.ui.text import say


async def test_the_last_prompt_cannot_be_skipped_and_says_so(begin, picture) -> None:
    async with begin(prompts=1) as (app, pilot, run):
        await pilot.press("s")
        assert "This is the last one" in picture(app)
        for tune in run.session.tunes:
            run.session.repertoire.rounds.put_off(tune, run.session.day())
        await pilot.press("r")
        assert "There is no other tune to ask just now." in picture(app)
        assert run.current is app.screen.answer.asked


async def test_undo_asks_that_one_again_with_its_answer_shown(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("u")
        await pilot.press("space", "1", "u")
        assert not run.checks
        assert app.screen.answer.shown
        assert "Taken back: Off to California." in picture(app)
        await pilot.press("4")
        assert dict(run.checks[0].levels) == {"key": 4, "A": 4, "B": 4}
        assert run.checks[0].seconds == 2.0


async def test_undo_after_the_end_goes_back_into_the_round(begin, picture) -> None:
    async with begin(prompts=1) as (app, pilot, run):
        await pilot.press("space", "2")
        assert run.ended
        assert "First round done." in picture(app)
        await pilot.press("u")
        assert "Off to California" in picture(app)
        assert "would kick it off" in picture(app)
        await pilot.press("4")
        assert "First round done." in picture(app)


async def test_skip_not_today_surprise_and_only_this_kind(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        first, second, third = run.waiting[:3]
        await pilot.press("s")
        assert run.current is second
        assert run.waiting[-1] is first
        await pilot.press("t")
        assert run.current is third
        assert second not in run.waiting
        await pilot.press("r")
        surprise = run.current
        assert surprise not in {first, second, third}
        assert third not in run.waiting
        await pilot.press("o")
        kind = surprise.tune.kind
        assert {asked.tune.kind for asked in run.waiting} == {kind}
        assert f"From here on only this kind: {kind}." in picture(app)
        assert not run.checks


async def test_the_name_is_hidden_until_it_is_asked_for(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        while run.current.prompt is not Prompt.WHAT:
            await pilot.press("space", "4")
        title = run.current.tune.title
        assert title not in picture(app)
        await pilot.press("h", "h", "h")
        assert title not in picture(app)
        await pilot.press("space")
        assert title in picture(app)
        await pilot.press("2")
        assert dict(run.checks[-1].levels) == {"name": 2}


async def test_the_key_is_hidden_until_it_is_asked_for(begin, picture) -> None:
    async with begin() as (app, pilot, run):
        assert run.current.tune.key.name not in picture(app)
        await pilot.press("space")
        assert run.current.tune.key.name in picture(app)


async def test_stopping_at_once_goes_back_without_a_summary(begin, wait_until) -> None:
    async with begin() as (app, pilot, run):
        await pilot.press("escape")
        await wait_until(lambda: app.screen.HEAD == "Today")
        assert not run.ended
        assert not run.checks


async def test_the_end_of_a_round_goes_back_to_today(begin, wait_until) -> None:
    async with begin(prompts=2) as (app, pilot, run):
        await pilot.press("space", "4", "space", "4", "enter")
        await wait_until(lambda: app.screen.HEAD == "Today")
        assert run.ended


async def test_a_rating_that_cannot_be_written_keeps_the_prompt(
    begin, wait_until, monkeypatch
) -> None:
    async with begin(notifications=True) as (app, pilot, run):
        asked = run.current

        def full(*_: object, **__: object) -> None:
            raise NotDoneError("my.tunes: the disk is full; nothing was saved.")

        monkeypatch.setattr(run.run, "rate", full)
        await pilot.press("space", "3")
        await wait_until(lambda: len(app._notifications) == 1)
        assert run.current is asked
        assert app.screen.answer.shown
        monkeypatch.undo()
        await pilot.press("3")
        assert run.checks[0].tune == asked.tune.uuid


async def test_the_seconds_are_those_of_the_key(open_book, app_on, wait_until) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        await wait_until(lambda: app.screen._asked_at is not None)
        app.screen._asked_at -= 7.5
        await pilot.press("space", "3")
        (check,) = (check for check in session.repertoire.checks.all() if check.round_uuid)
        assert 7.5 <= check.seconds < 12.5


async def test_what_is_wrong_for_the_moment_is_not_offered(begin, picture) -> None:
    async with begin() as (app, pilot, _):
        line = picture(app).splitlines()[-1]
        assert "I have it" in line
        assert "how it came" not in line
        await pilot.press("enter")
        line = picture(app).splitlines()[-1]
        assert line.strip().startswith("↑↓ ⏎ 4 3 2 1 how it came")
        assert "I have it" not in line


async def test_a_round_can_be_begun_from_outside(open_book, wait_until, app_on) -> None:
    session = open_book()
    app = app_on(session)
    app._begin = RoundWish(RoundKind.LAST, minutes=2.0)
    async with app.run_test():
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        assert app.screen.run.kind is RoundKind.LAST


async def test_a_resize_in_the_middle_keeps_everything(begin, picture, wait_until) -> None:
    async with begin(size=(120, 40)) as (app, pilot, run):
        await pilot.press("space", "b", "2")
        for size in ((40, 12), (20, 5), (60, 20)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
        await wait_until(lambda: "B 2" in picture(app))
        await pilot.press("4")
        assert dict(run.checks[0].levels) == {"key": 4, "A": 4, "B": 2}


async def test_what_was_said_before_does_not_lie_over_a_round(
    open_book, app_on, picture, wait_until
) -> None:
    app = app_on(open_book())
    async with app.run_test(notifications=True) as pilot:
        await wait_until(lambda: app.session is not None)
        say(app, "Kept Garryowen.")
        await wait_until(lambda: "Kept Garryowen." in picture(app))
        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen) and app.screen.answer)
        await pilot.pause()
        assert "Kept Garryowen." not in picture(app)
