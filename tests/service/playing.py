"""Playing rounds in tests."""

from __future__ import annotations

from tunememory.recall.check import Level, RoundKind
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun
from tunememory.session import Session


def all_at(session: Session, level: Level, kind: RoundKind = RoundKind.FIRST) -> list[str]:
    """Play a whole round at one level; return the tunes asked, in order."""
    run = RoundRun.begin(session, plan_round(session, kind))
    asked = []
    while run.current is not None:
        asked.append(run.current.tune.uuid)
        run.rate(dict.fromkeys(run.current.strands, level), seconds=3.0)
    run.stop()
    return asked
