"""How far a round of today has come: asked to its end, left on the way, or not begun."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.service.asking import COLUMNS

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile
    from tunememory.service.rounds import Moment
    from tunememory.tunes.check import RoundKind


class Begun(NamedTuple):
    """How far the rounds of one kind have come today.

    Attributes:
        asked: Prompts answered.
        ended: One of them was asked to its end.
        minutes: What is left of one that was left before its end, above 0; else ``None``.
    """

    asked: int
    ended: bool
    minutes: float | None


def begun(desk: OpenFile, at: Moment, kind: RoundKind) -> Begun:
    """Return how far the rounds of ``kind`` have come today.

    A round in which nothing was answered is as good as not begun. What is left is counted in
    minutes at the player's pace, as rounds are planned, and not in those that went by.
    """
    checks = [check for check in at.todays if check.round_kind is kind]
    answered = {check.round_uuid for check in checks}
    past = [each for each in desk.repertoire.rounds(at.day) if each.uuid in answered]
    ended = any(each.ended_at for each in past)
    if ended or not past:
        return Begun(len(checks), ended, None)
    spent = sum(at.pace.of(COLUMNS[check.prompt]) for check in checks)
    # Half a check more rounds to whole checks: neither sums of fractions nor a pace that has
    # changed a little since may lose one, and a slower pace must not make nothing of the rest.
    half = min(at.pace.how, at.pace.what) / 2
    left = max(0.0, past[0].minutes * 60 - spent) + half
    return Begun(len(checks), ended, left / 60)
