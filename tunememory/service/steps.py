"""The rounds of a day's sitting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.begun import begun
from tunememory.service.rounds import chosen, minutes_of
from tunememory.service.today_view import Step
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    from tunememory.planning.rounds import Plan
    from tunememory.service.begun import Begun
    from tunememory.service.open_file import OpenFile
    from tunememory.service.rounds import Moment


def steps_of(desk: OpenFile, at: Moment, first: Plan) -> tuple[Step, ...]:
    """Return the first and the last round as they would be asked now.

    A round that was left before its end is not done while there is something left to ask.

    Args:
        desk: The open repertoire.
        at: What rounds are planned from.
        first: The first round as planned.
    """
    last = chosen(desk, at, RoundKind.LAST)
    return tuple(
        _step(at, begun(desk, at, kind), kind, made)
        for kind, made in ((RoundKind.FIRST, first), (RoundKind.LAST, last))
    )


def _step(at: Moment, before: Begun, kind: RoundKind, made: Plan) -> Step:
    prompts = len(made.picks)
    done = before.ended or (before.asked > 0 and not prompts)
    return Step(kind, minutes_of(at, made), prompts, done, before.asked)
