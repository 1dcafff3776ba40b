"""What a glance at the file tells is shown at once, and keys typed early lose nothing."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import timedelta

from textual import events

from tests.screens.repertoire.conftest import NOW
from tunememory.clock import fixed_clock
from tunememory.practice.today import today_view
from tunememory.session import open_session
from tunememory.store.glance import glance
from tunememory.ui.app import TuneApp
from tunememory.ui.library.edit import EditScreen
from tunememory.ui.round.screen import RoundScreen
from tunememory.ui.theme import PAPER
from tunememory.ui.today import Steps
from tunememory.ui.widgets import LineInput


def app_over(session, first=None) -> TuneApp:
    return TuneApp(lambda: session, first=first)


def typed(app) -> str:
    """What stands in the line, once there is one."""
    return "".join(line.value for line in app.screen.query(LineInput))


async def test_line_and_theme_are_there_before_the_file_is_open(repertoire, picture) -> None:
    session = repertoire()
    session.repertoire.pick_ups.save(session.day() - timedelta(days=1), "the B part, [slowly]")
    session.save_settings(replace(session.settings, theme=PAPER))
    early = app_over(session, glance(session.path, fixed_clock(NOW)))
    early._read = lambda: None
    async with early.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert early.session is None
        assert early.theme == PAPER
        line = picture(early).splitlines()[2]
    assert line.strip() == "Yesterday: the B part, [slowly]"
    late = app_over(open_session(session.path, fixed_clock(NOW)))
    async with late.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert late.screen.query_one(Steps).view == today_view(session)
        assert late.theme == PAPER
        assert picture(late).splitlines()[2] == line


async def test_a_screen_opened_meanwhile_is_left_in_peace(repertoire, wait_until) -> None:
    session = repertoire()
    app = app_over(session, glance(session.path, fixed_clock(NOW)))
    async with app.run_test() as pilot:
        await pilot.press("n", *"The Salt")
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


async def test_a_key_still_on_its_way_when_the_app_closes_goes_nowhere(repertoire) -> None:
    app = app_over(repertoire())
    async with app.run_test():
        pass
    assert not app.screen_stack
    await app.on_event(events.Key("x", "x"))


async def test_keys_before_a_round_is_up_are_the_rounds(repertoire, wait_until) -> None:
    app = app_over(repertoire())
    async with app.run_test():
        await wait_until(lambda: app.session is not None)
        for key in ("l", "space", "3"):
            app.post_message(events.Key(key, " " if key == "space" else key))
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        await wait_until(lambda: app.screen.run.done == 1)
