"""The day prepared in advance is on the screen at once, and keys typed early lose nothing."""

from __future__ import annotations

import asyncio

from textual import events

from tests.screens.repertoire.conftest import NOW
from tunememory.clock import fixed_clock
from tunememory.practice.today import prepare, today_view
from tunememory.session import open_session
from tunememory.store.records import At
from tunememory.ui.app import TuneApp
from tunememory.ui.library.edit import EditScreen
from tunememory.ui.round.screen import RoundScreen
from tunememory.ui.running import first_picture
from tunememory.ui.today.widgets import Steps
from tunememory.ui.widgets.fields import LineInput


def app_over(session, first=None) -> TuneApp:
    return TuneApp(lambda: session, first=first)


def typed(app) -> str:
    """What stands in the line, once there is one."""
    return "".join(line.value for line in app.screen.query(LineInput))


def prepared(session):
    """The first picture of a file that was left ready."""
    assert prepare(session)
    found = first_picture(session.path, fixed_clock(NOW))
    assert found.view is not None
    return found


async def test_the_day_is_there_before_the_file_is_open(repertoire, picture) -> None:
    session = repertoire()
    early = app_over(session, prepared(session))
    early._read = lambda: None
    async with early.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert early.session is None
        shown = picture(early)
    assert "What fades" in shown
    late = app_over(open_session(session.path, fixed_clock(NOW)))
    async with late.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert late.screen.query_one(Steps).view is not None
        assert picture(late) == shown


async def test_what_differs_takes_its_place_without_a_word(repertoire, picture, wait_until) -> None:
    session = repertoire()
    first = prepared(session)
    first = first._replace(view=first.view._replace(note="as it was last night", practice=77))
    app = app_over(session, first)
    async with app.run_test(size=(80, 24), notifications=True):
        await wait_until(lambda: "last night" in picture(app))
        await wait_until(lambda: app.screen.query_one(Steps).view == today_view(session))
        await wait_until(lambda: "last night" not in picture(app))
        assert "77" not in picture(app)
        assert not len(app._notifications)


async def test_the_players_mark_stays_when_the_day_is_worked_out(repertoire, wait_until) -> None:
    session = repertoire()
    first = prepared(session)
    first = first._replace(view=first.view._replace(practice=77))
    app = app_over(session, first)
    async with app.run_test() as pilot:
        await pilot.press("down")
        steps = app.screen.query_one(Steps)
        await wait_until(lambda: steps.view == today_view(session))
        assert steps.marked is At.PRACTICE


async def test_a_screen_opened_meanwhile_is_left_in_peace(repertoire, wait_until) -> None:
    session = repertoire()
    app = app_over(session, prepared(session))
    async with app.run_test() as pilot:
        await pilot.press("n", *"The Salt")
        await app.workers.wait_for_complete()
        assert isinstance(app.screen, EditScreen)
        assert app.focused.value == "The Salt"


async def test_keys_typed_before_the_file_is_open_wait_for_it(repertoire, wait_until) -> None:
    app = app_over(repertoire())
    read = app._read
    app._read = lambda: None
    async with app.run_test() as pilot:
        await pilot.press("slash", *"nm hast")
        assert app.screen.HEAD == "Today"
        read()
        await wait_until(lambda: app.screen.HEAD == "Find")
        await wait_until(lambda: typed(app) == "nm hast")


async def test_leaving_does_not_wait(repertoire, wait_until) -> None:
    app = app_over(repertoire())
    app._read = lambda: None
    async with app.run_test() as pilot:
        await pilot.press("m", "ctrl+q")
        await wait_until(lambda: app._exit)
    assert app.return_code == 0


async def test_letters_right_behind_the_slash_are_typed_into_the_line(
    repertoire, wait_until
) -> None:
    """``n`` and ``q`` are keys of Today; sent in one go they are letters of the name."""
    app = app_over(repertoire())
    async with app.run_test():
        await wait_until(lambda: app.session is not None)
        app.post_message(events.Key("slash", "/"))
        for letter in "qn hast":
            app.post_message(events.Key("space" if letter == " " else letter, letter))
        await wait_until(lambda: app.screen.HEAD == "Find")
        await wait_until(lambda: typed(app) == "qn hast")
        assert len(app.screen_stack) == 2


async def test_a_letter_that_comes_a_little_later_does_not_overtake_the_others(
    repertoire, wait_until
) -> None:
    app = app_over(repertoire())
    async with app.run_test():
        await wait_until(lambda: app.session is not None)
        busy = asyncio.Event()
        open_screen = app.open_screen

        def open_and_type(*arguments) -> None:
            open_screen(*arguments)
            app.post_message(events.Key("n", "n"))
            app.post_message(events.Key("z", "z"))
            app.call_later(busy.set)

        app.open_screen = open_and_type
        app.post_message(events.Key("slash", "/"))
        # Today is busy when the next letter comes, so that the new screen is up before it is back.
        app.call_later(app.screen.call_later, busy.wait)
        app.post_message(events.Key("q", "q"))
        await wait_until(lambda: app.screen.HEAD == "Find")
        await wait_until(lambda: typed(app) == "qnz")
        assert len(app.screen_stack) == 2


async def test_a_key_does_not_wait_for_ever_for_one_that_is_lost(repertoire, wait_until) -> None:
    app = app_over(repertoire())
    async with app.run_test() as pilot:
        await wait_until(lambda: app.session is not None)
        app._follow = lambda _: None
        stuck = asyncio.Event()
        app.screen.call_later(stuck.wait)
        app.post_message(events.Key("x", "x"))
        await wait_until(lambda: app._last is not None)
        app.open_screen("find")
        await pilot.pause()
        app.post_message(events.Key("n", "n"))
        await wait_until(lambda: typed(app) == "n")
        stuck.set()


async def test_keys_before_a_round_is_up_are_the_rounds(repertoire, wait_until) -> None:
    app = app_over(repertoire())
    async with app.run_test():
        await wait_until(lambda: app.session is not None)
        for key in ("l", "space", "3"):
            app.post_message(events.Key(key, " " if key == "space" else key))
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        await wait_until(lambda: app.screen.run.done == 1)
