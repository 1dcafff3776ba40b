"""After time away nothing is called lost for time alone, until it is asked again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tunememory.history.days import returned
from tunememory.recall.check import Level
from tunememory.recall.state import State
from tunememory.service.desk import Desk

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def states(desk: Desk) -> dict[str, State]:
    return {row.uuid: row.chance.state for row in desk.rows()}


def test_who_comes_back_finds_nothing_lost(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(3)
    for uuid in uuids:
        desk.check_away(uuid, dict.fromkeys(ALL, Level.SIT_OUT), desk.now())
    assert returned(desk) is None
    hands.forward(days=600)
    assert returned(desk) is not None
    chances = {row.uuid: row.chance.chance for row in desk.rows()}
    assert max(chances.values()) < 0.2
    assert set(states(desk).values()) == {State.RUSTY}
    assert {row.chance.state for row in desk.fading()} == {State.RUSTY}
    # The figure is as it was; only the word is not said.
    assert {row.tune: row.chance.chance for row in desk.fading()}.keys() == chances.keys()


def test_without_time_away_what_is_lost_is_called_so(desk: Desk, kept: Kept, hands: Any) -> None:
    lost, played = kept(2)
    desk.check_away(lost, dict.fromkeys(ALL, Level.SIT_OUT), desk.now())
    for _ in range(40):
        hands.forward(days=15)
        desk.check_away(played, dict.fromkeys(ALL, Level.FIND), desk.now())
    assert returned(desk) is None
    assert states(desk)[lost] is State.LOST
