"""Back after four months with an injured shoulder: minutes first, the surest tunes, no mountain.

Targets: the first screen welcomes and has no number of what is late; minutes are asked for first,
five offered; the strongest tunes first, nothing marked lost for time alone; eight a day bring 220
tunes round in four weeks; playing and head-only time counted apart; pain is one key, ends the
sitting and keeps everything. Common practice, no source.

Seconds are modelled as ``conftest`` says (Card, Moran and Newell 1980), with 10 for a start.
"""

from __future__ import annotations

import re

import pytest

from tests.playing import rate
from tunememory.library.adding import Draft
from tunememory.library.overview import tune_rows
from tunememory.practice.sitting import minutes_today
from tunememory.recall.check import Level, RoundKind
from tunememory.recall.state import State
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun, sitting_of
from tunememory.session import open_session

TUNES = 220
AWAY = 120

LETTERS = "DEFGABcdefg"


@pytest.fixture
def back(tmp_path, hands, stock):
    """A repertoire of 220 tunes, kept up until four months ago."""
    with open_session(tmp_path / "mine.tunes", hands.clock()) as session:
        drafts = [
            Draft(
                (f"Saltpan {n:03}",), ("reel", "jig")[n % 2], "DGA"[n % 3], ("C|", "6/8")[n % 2],
                starts=(("A", " ".join(LETTERS[(n * k + k) % 11] for k in range(1, 9))),),
            )
            for n in range(TUNES)
        ]  # fmt: skip
        stock(session, drafts, days=[AWAY + ago for ago in (0, 14, 28, 42, 56)])
        yield session


async def test_a_first_day_back(back, hands, at_screen, picture) -> None:
    async with at_screen(back):
        shown = picture(hands.app)
        assert "Welcome back. The surest tunes first, a few a day." in shown
        # No number of what waits, or of what is late, and no names of it.
        assert "What fades" not in shown
        assert str(TUNES) not in shown
        assert not re.search(r"\d+ (lost|rusty|late|overdue|waiting)", shown)

        with hands.part("five minutes", keys=2, seconds=2.5):
            await hands.press("enter")
            hands.think()
            await hands.press("enter")
        assert hands.on == "RoundScreen"
        planned = hands.app.screen.run.planned
        assert planned.coming_back
        assert planned.minutes <= 5.0
        chances = {row.tune.uuid: row.chance.chance for row in tune_rows(back)}
        asked = [chances[one.tune.uuid] for one in planned.asked]
        left = sorted(chances.values(), reverse=True)
        assert min(asked) >= left[len(asked) - 1] - 0.02
        with hands.part("two old friends", keys=4, seconds=30.0):
            for _ in range(2):
                hands.play()
                await hands.press("space")
                hands.think()
                await hands.press("4")
        await hands.press("escape", "enter")
        assert hands.on == "TodayScreen"

        await hands.press("p")
        hands.later(minutes=5)
        with hands.part("it hurts", keys=1, seconds=1.0):
            await hands.press("x")
        assert hands.on == "TodayScreen"
        assert sitting_of(back).stopped
        assert len(back.repertoire.checks.all(since=hands.moment.replace(hour=0))) == 2


async def test_head_only_time_is_counted_apart(back, hands, at_screen, monkeypatch) -> None:
    seconds = [0.0]
    monkeypatch.setattr("tunememory.ui.practice.clock.monotonic", lambda: seconds[0])
    async with at_screen(back):
        await hands.press("p")
        seconds[0] += 120
        with hands.part("without the fiddle", keys=1, seconds=1.0):
            await hands.press("e")
        seconds[0] += 240
        await hands.press("escape")
        minutes = minutes_today(back)
        assert (round(minutes.instrument), round(minutes.head)) == (2, 4)


def test_nothing_is_lost_for_time_alone(back) -> None:
    states = {row.chance.state for row in tune_rows(back)}
    assert State.LOST not in states


@pytest.mark.slow
def test_in_four_weeks_every_tune_was_asked_once(back, hands) -> None:
    """Eight a day: 28 days hold 224 checks."""
    asked: list[str] = []
    for _ in range(28):
        run = RoundRun.begin(back, plan_round(back, RoundKind.FIRST, 5.0))
        for _ in range(8):
            assert run.current is not None
            asked.append(run.current.tune.uuid)
            rate(run, Level.FIND, seconds=6.0)
        run.stop()
        hands.later(days=1)
    assert len(set(asked)) == TUNES
