"""Today, by keys and by pictures.

The pictures show what the plan makes of a real file of the printed tunes.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from tunememory.practice.today import today_view
from tunememory.recall.check import RoundKind
from tunememory.recall.state import State
from tunememory.rounds.running import sitting_of
from tunememory.session import open_session
from tunememory.store.records import At
from tunememory.ui.questions import AskLine, ConfirmScreen
from tunememory.ui.round.screen import RoundScreen
from tunememory.ui.today import NOT_ASKED, StaffPicture, Steps, draw, head_of
from tunememory.ui.widgets import LineInput

SIZES = [(60, 20), (80, 24), (120, 40)]

HOSTILE = {
    15: "[@click=app.quit]Click me[/]",
    3: "[/] [red]Off[/] to \x1b[2J\x9bCalifornia \u202egnol",
    6: "X" * 10_000,
    9: "المقام القديم",
}


@pytest.fixture
def short_rounds(open_book):
    """Open the file of printed tunes with a minute for the first round: some are left to fade."""

    def make(titles: dict[int, str] | None = None):
        session = open_book(titles)
        session.save_settings(replace(session.settings, minutes_first=1.0))
        return session

    return make


@pytest.mark.parametrize(("width", "height"), SIZES)
async def test_the_day(short_rounds, app_on, same_picture, wait_until, width, height) -> None:
    app = app_on(short_rounds())
    async with app.run_test(size=(width, height)):
        await wait_until(lambda: app.screen.query_one(StaffPicture).tunes)
        await wait_until(lambda: app.screen.query_one(Steps).view)
        same_picture(app, f"today-{width}x{height}")


@pytest.mark.parametrize(("width", "height"), SIZES[:2])
async def test_a_day_without_tunes_says_what_to_do(
    open_book, app_on, same_picture, wait_until, width, height
) -> None:
    app = app_on(open_book(empty=True))
    async with app.run_test(size=(width, height)):
        await wait_until(lambda: app.screen.query_one(Steps).view)
        same_picture(app, f"today-empty-{width}x{height}")


@pytest.mark.parametrize(("width", "height"), SIZES[:2])
async def test_hostile_titles_are_only_shown(
    short_rounds, app_on, same_picture, wait_until, width, height
) -> None:
    app = app_on(short_rounds(HOSTILE))
    async with app.run_test(size=(width, height)):
        await wait_until(lambda: app.screen.query_one(Steps).view)
        same_picture(app, f"today-hostile-{width}x{height}")


async def test_the_skeleton_is_there_before_the_session(open_book, app_on, picture) -> None:
    app = app_on(open_book())
    app._read = lambda: None
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        shown = picture(app)
        assert "First round" in shown
        assert "safe" in shown
        assert "─" * 40 in shown
        # Keys before the session is there do nothing, and do no harm.
        await pilot.press("enter", "m", "l", "f")
        assert app.screen.HEAD == "Today"


@pytest.mark.parametrize(("width", "height"), [(20, 5), (39, 24), (80, 11), (1, 1)])
async def test_too_small_a_window_asks_for_more(
    open_book, app_on, picture, wait_until, width, height
) -> None:
    app = app_on(open_book())
    async with app.run_test(size=(width, height)) as pilot:
        await pilot.pause()
        said = " ".join(picture(app).split())
        if width >= 20:
            assert said.startswith("Please make the terminal larger")
            assert f"{width}x{height}" in said
            assert "40x12" in said
        await pilot.resize_terminal(80, 24)
        await wait_until(lambda: "First round" in picture(app))


async def test_no_key_works_blind_but_leaving(open_book, app_on, wait_until) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test(size=(20, 5)) as pilot:
        await wait_until(lambda: app.session is not None)
        await pilot.press("enter", "space", "4", "m")
        assert app.screen.HEAD == "Today"
        assert not begun(session)
        await pilot.resize_terminal(80, 24)
        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        await pilot.resize_terminal(20, 5)
        await pilot.press("enter", "space", "4", "escape")
        assert not app.screen.run.done
        assert not app.screen.answer.shown
        await pilot.press("ctrl+q")
    assert app.return_code == 0


async def test_interrupting_leaves_but_not_while_typing(open_book, app_on, wait_until) -> None:
    app = app_on(open_book())
    async with app.run_test(notifications=True) as pilot:
        await wait_until(lambda: app.session is not None)
        app.push_screen(AskLine("Where shall we pick up?", lambda _: None))
        await wait_until(lambda: isinstance(app.focused, LineInput))
        await pilot.press("a", "ctrl+c")
        await wait_until(lambda: len(app._notifications) == 1)
        assert next(iter(app._notifications)).message == "ctrl+q leaves; everything is kept."
        await pilot.press("shift+left", "ctrl+c")
        assert app.clipboard == "a"
        assert app.is_running
        await pilot.press("escape", "ctrl+c")
        await wait_until(lambda: app._exit)
    assert app.return_code == 0


async def test_interrupting_leaves_over_a_question_too(open_book, app_on, wait_until) -> None:
    app = app_on(open_book())
    async with app.run_test() as pilot:
        await wait_until(lambda: app.session is not None)
        app.push_screen(ConfirmScreen("Take it out?"))
        await wait_until(lambda: isinstance(app.screen, ConfirmScreen))
        await pilot.press("ctrl+c")
        await wait_until(lambda: app._exit)


def begun(session) -> list[RoundKind]:
    """The kinds of the rounds that were begun today."""
    return [each.kind for each in session.repertoire.rounds.on(session.day())]


async def ask_all(pilot, app, wait_until) -> None:
    """Answer the round on the screen to its end."""
    await wait_until(lambda: isinstance(app.screen, RoundScreen))
    while app.screen.run.current is not None:
        await pilot.press("space", "2")
    await pilot.press("enter")
    await wait_until(lambda: app.screen.HEAD == "Today")


async def test_enter_begins_the_first_round_and_then_the_last(
    short_rounds, app_on, wait_until
) -> None:
    session = short_rounds()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        await pilot.press("enter")
        await ask_all(pilot, app, wait_until)
        assert begun(session) == [RoundKind.FIRST]
        # The round is done: practice comes next, and can be passed over.
        await wait_until(lambda: app.screen.query_one(Steps).marked is At.PRACTICE)
        await pilot.press("down", "enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        assert begun(session)[1:] == [RoundKind.LAST]


async def test_after_a_round_more_is_offered_not_owed(
    short_rounds, app_on, wait_until, picture
) -> None:
    app = app_on(short_rounds())
    async with app.run_test() as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        assert "more if you like" not in picture(app)
        await pilot.press("enter")
        await ask_all(pilot, app, wait_until)
        await wait_until(lambda: "First round   done · more if you like" in picture(app))


async def test_any_round_can_be_begun_out_of_turn(open_book, app_on, wait_until) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        await pilot.press("down", "down", "enter")
        await wait_until(lambda: begun(session))
        assert sitting_of(session).step is At.LAST
        await pilot.press("escape")
        await wait_until(lambda: app.screen.HEAD == "Today")
        await pilot.press("l")
        await wait_until(lambda: len(begun(session)) == 2)
        assert begun(session) == [RoundKind.LAST, RoundKind.LOOSE]


async def test_nothing_to_ask_is_said_and_nothing_begun(open_book, app_on, wait_until) -> None:
    session = open_book(empty=True)
    app = app_on(session)
    async with app.run_test(notifications=True) as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        await pilot.press("enter")
        await wait_until(lambda: len(app._notifications) == 1)
        assert not begun(session)
        assert app.screen.HEAD == "Today"


async def test_another_window_is_noticed(open_book, app_on, wait_until, picture) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        with open_session(session.path, session.clock) as other:
            day_before = other.day() - timedelta(days=1)
            other.repertoire.pick_ups.save(day_before, "written in another window")
        await pilot.press("question_mark", "escape")
        await wait_until(lambda: "written in another window" in picture(app))


async def test_a_click_begins_a_round(open_book, app_on, wait_until) -> None:
    session = open_book()
    app = app_on(session)
    async with app.run_test() as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        assert await pilot.click(Steps, offset=(6, 2))
        await wait_until(lambda: begun(session) == [RoundKind.LAST])


async def test_q_leaves(open_book, app_on, wait_until) -> None:
    app = app_on(open_book())
    async with app.run_test() as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        await pilot.press("q")
        await wait_until(lambda: not app.is_running)
        assert not app.return_code


def test_the_staff_knows_what_was_not_asked_by_the_name_of_that_state() -> None:
    assert State.NOT_ASKED.value == NOT_ASKED


def test_tunes_are_gathered_by_root(open_book) -> None:
    session = open_book()
    marks = zip(session.tunes.values(), today_view(session).tunes, strict=True)
    groups = {tune.title: head_of(mark).group for tune, mark in marks}
    assert groups["The Blackbird"] == "D"
    assert groups["Drowsy Maggie"] == "E"


def test_the_staff_never_needs_more_rows_than_there_are(open_book) -> None:
    view = today_view(open_book())
    counts = dict(view.counts)
    for height in range(7, 45):
        picture = draw(view.tunes, counts, 60, height)
        assert len(picture) <= height
        said = "".join(text for row in picture for text, _ in row)
        for state in (State.SAFE, State.FADING, State.RUSTY, State.LOST):
            assert f"{counts.get(state.value, 0)} {state.value}" in said
