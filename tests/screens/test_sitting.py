"""A whole sitting on a real file: every level is on disk before the next prompt shows."""

from datetime import UTC, datetime, timedelta

import pytest

from tunememory.clock import Clock
from tunememory.dates.changing import DateDraft, save_date
from tunememory.library.adding import Draft, add_tune
from tunememory.practice.sitting import close_day, log_minutes, minutes_today
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Level, RoundKind
from tunememory.recall.state import State
from tunememory.rounds.planning import RoundWish, plan_round
from tunememory.rounds.running import sitting_of
from tunememory.session import open_session
from tunememory.store.records import At
from tunememory.ui.app import TuneApp
from tunememory.ui.round.screen import RoundScreen
from tunememory.ui.text import say
from tunememory.ui.today import Steps

# Titles and keys: O'Neill's Music of Ireland (1903); the starts are shortened freely.
TUNES = (
    Draft(("Haste to the Wedding",), "jig", "D", "6/8", starts=(("A", "AFA"), ("B", "dfa agf"))),
    Draft(("The Irish Washerwoman",), "jig", "G", "6/8", starts=(("A", "BGG DGG"),)),
    Draft(("Miss McLeod's Reel",), "reel", "G", "C|", starts=(("A", "G2BG dGBG"),)),
    Draft(("The [Humours] of \x1b[2JGlen [/]",), "jig", "D", "6/8", starts=(("A", "FED EFA"),)),
)  # fmt: skip


class Hands:
    """A clock that is moved by hand."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 11, 24, 7, 10, tzinfo=UTC)

    def clock(self) -> Clock:
        return Clock(lambda: self.moment, UTC)


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def session(tmp_path, hands):
    with open_session(tmp_path / "my.tunes", hands.clock()) as opened:
        for draft in TUNES:
            add_tune(opened, draft)
        yield opened


def checks_on_disk(path, hands):
    with open_session(path, hands.clock()) as other:
        return other.repertoire.checks.all()


async def test_a_sitting(session, hands, wait_until, picture) -> None:
    app = TuneApp(lambda: session)
    async with app.run_test(size=(80, 24)) as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        shown = picture(app)
        assert "4 tunes · " in shown
        assert "not asked yet (4)" in shown
        for draft in TUNES:
            assert draft.titles[0] not in shown

        await pilot.press("enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        run = app.screen.run
        asked = 0
        while run.current is not None and asked < 6:
            title = run.current.tune.title
            hands.moment += timedelta(seconds=20)
            await pilot.press("space", "1" if asked == 1 else "3")
            asked += 1
            done = checks_on_disk(session.path, hands)
            assert len(done) == asked
            assert title == session.tune(done[-1].tune).title
            assert {level for _, level in done[-1].levels} == {Level(1 if asked == 2 else 3)}
        assert "First round done." in picture(app)
        await pilot.press("u", "2")
        done = checks_on_disk(session.path, hands)
        assert len(done) == asked
        assert {level for _, level in done[-1].levels} == {Level.JOIN_IN}

        await pilot.press("enter")
        await wait_until(lambda: app.screen.HEAD == "Today")
        assert "done" in picture(app)
        assert app.screen.query_one(Steps).marked is At.PRACTICE
        await pilot.press("down", "enter")
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        titles = {waiting.tune.title for waiting in app.screen.run._waiting}
        assert titles == {
            session.tune(check.tune).title
            for check in done
            if any(lv < 3 for _, lv in check.levels)
        }
        hands.moment += timedelta(minutes=20)
        await pilot.press("space", "4")
        assert checks_on_disk(session.path, hands)[-1].round_kind is RoundKind.LAST


async def test_tomorrow_follows_from_today(session, hands, wait_until) -> None:
    app = TuneApp(lambda: session, RoundWish(RoundKind.FIRST))
    async with app.run_test() as pilot:
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        while app.screen.run.current is not None:
            await pilot.press("space", "4")
        await pilot.press("enter")
        await wait_until(lambda: app.screen.HEAD == "Today")
        hands.moment += timedelta(days=1)
        # Coming back to the window after a night shows the new day.
        app.screen.refill()
        steps = app.screen.query_one(Steps)
        assert steps.view.day.day == 25
        assert steps.marked is At.FIRST
        assert not steps.view.steps[0].done
        assert dict(steps.view.counts).get(State.NOT_ASKED) is None


async def test_a_round_is_begun_as_it_was_asked_for(session, wait_until) -> None:
    wish = RoundWish(RoundKind.LOOSE, minutes=0.5)
    expected = [asked.tune.uuid for asked in plan_round(session, RoundKind.LOOSE, 0.5).asked]
    assert len(expected) < len(plan_round(session, RoundKind.LOOSE).asked)
    app = TuneApp(lambda: session, wish)
    async with app.run_test():
        await wait_until(lambda: isinstance(app.screen, RoundScreen))
        assert app.screen.run.kind is RoundKind.LOOSE
        assert [asked.tune.uuid for asked in app.screen.run._waiting] == expected


async def test_lines_too_long_for_a_low_window_show_that_they_go_on(
    session, hands, wait_until, picture
) -> None:
    close_day(
        session, "Miss McLeod's: the end of the B part, slowly, then the turn, then all of it"
    )
    title = "The kitchen session at the boathouse"
    save_date(session, DateDraft("today", title, tunes=tuple(session.tunes)[:1]))
    hands.moment += timedelta(days=1)
    app = TuneApp(lambda: session)
    async with app.run_test(size=(60, 20)) as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        await pilot.pause()
        for begins in ("Yesterday: Miss", f"What was played at {title}"):
            (line,) = (row for row in picture(app).splitlines() if begins in row)
            assert line.rstrip().endswith("…")


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_a_sitting_is_held_in_the_head_with_one_key(
    session, wait_until, picture, size
) -> None:
    app = TuneApp(lambda: session)
    async with app.run_test(size=size) as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        assert "in the head" not in picture(app)
        await pilot.press("e")
        await wait_until(lambda: "in the head" in picture(app))
        log_practice(session, next(iter(session.tunes)), "scale", 5.0)
        assert (minutes_today(session).instrument, minutes_today(session).head) == (
            0.0,
            5.0,
        )
        await pilot.press("e")
        await wait_until(lambda: "in the head" not in picture(app))
        assert not sitting_of(session).head_only


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_what_is_said_leaves_the_pick_up_line_in_sight(
    session, hands, wait_until, picture, size
) -> None:
    line = "Garryowen: the end of the B part, slowly"
    close_day(session, line)
    hands.moment += timedelta(days=1)
    app = TuneApp(lambda: session)
    async with app.run_test(size=size, notifications=True) as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        for said in ("All tunes are in one tuning.", "Another thing is said."):
            await pilot.press("t")
            say(app, said)
        await pilot.pause()
        shown = picture(app).splitlines()
        assert f"  Yesterday: {line}" in shown
        # One line is said at a time: none piles up on another.
        assert any("Another thing is said." in row for row in shown)
        assert not any("All tunes are in one tuning." in row for row in shown)
        assert "? help" in shown[-1]


async def test_a_round_left_before_its_end_keeps_the_mark_and_goes_on(
    session, wait_until, picture
) -> None:
    app = TuneApp(lambda: session)
    async with app.run_test(size=(80, 24)) as pilot:
        await wait_until(lambda: app.screen.query_one(Steps).view)
        asked = []
        for left in (4, 3, 2, 1):
            await pilot.press("enter")
            await wait_until(lambda: isinstance(app.screen, RoundScreen))
            assert app.screen.run.left == left
            asked.append(app.screen.run.current.tune.uuid)
            await pilot.press("space", "4")
            if left > 1:
                await pilot.press("escape")
            await pilot.press("enter")
            await wait_until(lambda: app.screen.HEAD == "Today")
            if left > 1:
                line = f"▸ First round   {5 - left} of 4 asked · {left - 1} left"
                await wait_until(lambda line=line: line in picture(app))
        await wait_until(lambda: "  First round   done" in picture(app))
        assert len(set(asked)) == 4


async def test_a_step_that_was_passed_over_is_left_out_and_not_done(
    session, wait_until, picture
) -> None:
    close_day(session)
    app = TuneApp(lambda: session)
    async with app.run_test(size=(80, 24)):
        await wait_until(lambda: "First round   left out · 4 tunes" in picture(app))
        assert "Practice      left out" in picture(app)
        assert "Last round    left out · 4 tunes" in picture(app)
        assert "done" not in picture(app)
        log_minutes(session, 3.0)
        app.screen.refill()
        await wait_until(lambda: "Practice      done" in picture(app))
