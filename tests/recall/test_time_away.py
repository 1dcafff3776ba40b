"""After time away nothing is called lost for time alone, until it is asked again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tunememory.history import record_check_away, returned
from tunememory.library.overview import fading_tunes, tune_rows
from tunememory.recall.check import Level
from tunememory.recall.state import State
from tunememory.session import Session

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def states(session: Session) -> dict[str, State]:
    return {row.tune.uuid: row.chance.state for row in tune_rows(session)}


def test_who_comes_back_finds_nothing_lost(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(3)
    for uuid in uuids:
        record_check_away(session, uuid, dict.fromkeys(ALL, Level.SIT_OUT), session.now())
    assert returned(session) is None
    hands.forward(days=600)
    assert returned(session) is not None
    chances = {row.tune.uuid: row.chance.chance for row in tune_rows(session)}
    assert max(chances.values()) < 0.2
    assert set(states(session).values()) == {State.RUSTY}
    assert {row.chance.state for row in fading_tunes(session)} == {State.RUSTY}
    # The figure is as it was; only the word is not said.
    assert {row.tune.uuid for row in fading_tunes(session)} == chances.keys()


def test_without_time_away_what_is_lost_is_called_so(
    session: Session, kept: Kept, hands: Any
) -> None:
    lost, played = kept(2)
    record_check_away(session, lost, dict.fromkeys(ALL, Level.SIT_OUT), session.now())
    for _ in range(40):
        hands.forward(days=15)
        record_check_away(session, played, dict.fromkeys(ALL, Level.FIND), session.now())
    assert returned(session) is None
    assert states(session)[lost] is State.LOST
