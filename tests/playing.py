"""Playing rounds in tests."""

from __future__ import annotations

from tunememory.history import record_check_away
from tunememory.recall.check import Level, RoundKind
from tunememory.recall.state import Rated
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun
from tunememory.session import Session


def rate(run: RoundRun, level: Level, seconds: float = 2.0) -> Rated:
    """Answer the present prompt at one level."""
    assert run.answer is not None
    run.answer.show(seconds)
    assert run.answer.take(level)
    return run.rate()


def all_at(session: Session, level: Level, kind: RoundKind = RoundKind.FIRST) -> list[str]:
    """Play a whole round at one level; return the tunes asked, in order."""
    run = RoundRun.begin(session, plan_round(session, kind))
    asked = []
    while run.current is not None:
        asked.append(run.current.tune.uuid)
        rate(run, level, seconds=3.0)
    run.stop()
    return asked


def came_at(session: Session, level: Level, *uuids: str) -> None:
    """Write down that tunes came at one level, key and both starts, outside a round."""
    for uuid in uuids:
        levels = dict.fromkeys(("key", "A", "B"), level)
        record_check_away(session, uuid, levels, session.now())
