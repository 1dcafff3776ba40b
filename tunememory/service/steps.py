"""The rounds of a day's sitting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.rounds import chosen, minutes_of
from tunememory.service.today_view import Step
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    from tunememory.planning.rounds import Plan
    from tunememory.service.open_file import OpenFile
    from tunememory.service.rounds import Moment


def steps_of(desk: OpenFile, at: Moment, first: Plan) -> tuple[Step, ...]:
    """Return the first and the last round as they would be asked now.

    A round that was stopped before anything was answered is not done.

    Args:
        desk: The open repertoire.
        at: What rounds are planned from.
        first: The first round as planned.
    """
    answered = {check.round_uuid for check in at.todays}
    done = {
        past.kind
        for past in desk.repertoire.rounds(at.day)
        if past.ended_at and past.uuid in answered
    }
    last = chosen(desk, at, RoundKind.LAST)
    return tuple(
        Step(kind, minutes_of(at, made), len(made.picks), kind in done)
        for kind, made in ((RoundKind.FIRST, first), (RoundKind.LAST, last))
    )
