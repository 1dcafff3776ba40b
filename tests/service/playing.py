"""Playing rounds in tests."""

from __future__ import annotations

from tunememory.recall.check import Level, RoundKind
from tunememory.service.desk import Desk


def all_at(desk: Desk, level: Level, kind: RoundKind = RoundKind.FIRST) -> list[str]:
    """Play a whole round at one level; return the tunes asked, in order."""
    run = desk.begin(desk.plan(kind))
    asked = []
    while run.current is not None:
        asked.append(run.current.tune.uuid)
        run.rate(dict.fromkeys(run.current.strands, level), seconds=3.0)
    run.stop()
    return asked
