"""Planning a round for this repertoire, this moment and this player."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.gain import ask_value, asking
from tunememory.planning.pace import measured_pace
from tunememory.planning.rounds import Plan, Wishes, first_round, last_round, once_more
from tunememory.service import agenda
from tunememory.service.asking import (
    Fixed,
    failed_today,
    fixed,
    last_met,
    row_asked,
    standing,
    with_joins,
)
from tunememory.service.begun import begun
from tunememory.service.blocks import in_blocks
from tunememory.service.chances import picture
from tunememory.service.joins import beliefs_of, joins_of
from tunememory.service.prompts import asked_of, note_of
from tunememory.service.spent import checks_between
from tunememory.service.time_away import returned
from tunememory.service.twins import ensure, twin_map
from tunememory.service.typed import tuning_of
from tunememory.service.views import Planned
from tunememory.tunes.check import Prompt, RoundKind
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.planning.standing import Pace, Standing
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.check import Check
    from tunememory.tunes.journal import Practice

PACE_CHECKS = 200
"""Newest checks from which the player's pace is measured."""


@dataclass(frozen=True, slots=True)
class Moment:
    """All that rounds are planned from, read once.

    Attributes:
        day: The practice day.
        todays: Its checks so far, in order.
        practised: Its practice so far, in order.
        now: The repertoire as the planner takes it.
        pace: Seconds a check takes this player.
        returned: Model day on which the player came back from time away, or ``None``.
    """

    day: date
    todays: tuple[Check, ...]
    practised: tuple[Practice, ...]
    now: Standing
    pace: Pace
    returned: float | None


def moment(desk: OpenFile) -> Moment:
    """Read what rounds are planned from."""
    day = desk.day()
    todays = tuple(checks_between(desk, day, day))
    pace = pace_of(desk)
    practised = tuple(desk.repertoire.practices(first_day=day, last_day=day))
    now = standing_now(desk, todays, prompts_in(desk, pace))
    return Moment(day, todays, practised, now, pace, returned(desk))


def chosen(
    desk: OpenFile,
    at: Moment,
    kind: RoundKind,
    minutes: float | None = None,
    tuning: str | None = None,
    only_kind: str | None = None,
) -> Plan:
    """Choose the prompts of a round.

    Args:
        desk: The open repertoire.
        at: What the choice rests on.
        kind: First, last or loose.
        minutes: Length, or ``None`` for what is left of today's round, else for the setting.
        tuning: Another tuning than the plan would choose (strings or nickname).
        only_kind: Only tunes of this kind.

    Raises:
        ServiceError: The tuning cannot be read.
    """
    settings = desk.settings
    default = settings.minutes_last if kind is RoundKind.LAST else settings.minutes_first
    if minutes is None:
        minutes = begun(desk, at, kind).minutes or default
    asked_tuning = tuning_of(tuning) if tuning else None
    wishes = Wishes(
        minutes=minutes,
        instrument=settings.standing.letters,
        tuning=asked_tuning.letters if asked_tuning else None,
        kind=only_kind.casefold() if only_kind else None,
        intake=settings.intake,
        returned=at.returned,
    )
    made = _last(desk, at, wishes) if kind is RoundKind.LAST else None
    return made or first_round(at.now, wishes, at.pace, desk.now_days())


def plan(
    desk: OpenFile,
    kind: RoundKind,
    minutes: float | None = None,
    tuning: str | None = None,
    only_kind: str | None = None,
) -> Planned:
    """Plan a round with all that it may show; nothing is written. Arguments as ``chosen``.

    Raises:
        ServiceError: The tuning cannot be read.
    """
    at = moment(desk)
    made = chosen(desk, at, kind, minutes, tuning, only_kind)
    if ensure(desk, (at.now.uuids[pick.place] for pick in made.picks)):
        # New starts were compared only now: twins may have to be kept apart after all.
        at = moment(desk)
        made = chosen(desk, at, kind, minutes, tuning, only_kind)
    return Planned(
        kind=kind,
        day=at.day,
        tuning=made.tuning,
        minutes=minutes_of(at, made),
        asked=tuple(asked_of(desk, at.now, pick) for pick in made.picks),
        note=note_of(desk, made, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
    )


def prompts_in(desk: OpenFile, pace: Pace) -> int:
    """Return how many prompts the first round holds at this player's pace, at least 1."""
    return max(1, round(desk.settings.minutes_first * 60 / pace.how))


def minutes_of(at: Moment, made: Plan) -> float:
    """Return the minutes a plan takes this player."""
    return sum(at.pace.of(pick.prompt) for pick in made.picks) / 60


def fixed_now(desk: OpenFile) -> Fixed:
    """Return the planning arrays of the tunes, made anew only when a tune changed."""
    beliefs = desk.remembered.all()
    awake = agenda.awake(desk)
    if desk.kept("awake", lambda: awake) != awake:
        desk.forget("awake", "fixed")
    return desk.kept(
        "fixed",
        lambda: fixed(
            [desk.tunes[uuid] for uuid in beliefs.uuids],
            beliefs.mean.shape[1],
            desk.settings.usual,
            twin_map(desk),
            joins_of(desk).of_sets,
            desk.kept("awake", lambda: awake),
        ),
    )


def standing_now(desk: OpenFile, todays: Sequence[Check], prompts_a_day: int) -> Standing:
    """Return the repertoire as the planner takes it, now.

    Args:
        desk: The open repertoire.
        todays: The checks of the practice day so far.
        prompts_a_day: How many prompts the player's minutes hold; sets what a check is worth.
    """
    at = desk.now_days()
    tunes = fixed_now(desk)
    joins = beliefs_of(desk)
    beliefs = with_joins(desk.remembered.all(), [joins[join] for join in tunes.joins])
    keeping, growing = in_blocks(beliefs, 2, lambda some: asking(some, at, desk.params))
    # What is left in peace must not set the price of a check.
    idle = ~(tunes.how | tunes.what).any(axis=1)
    keeping[idle] = growing[idle] = np.nan
    worth = ask_value(keeping, growing, prompts_a_day)
    return standing(
        tunes,
        beliefs,
        picture(beliefs, at, desk.params),
        worth,
        last_met(desk.last_met, desk.last_practised, joins_of(desk)),
        frozenset(map(row_asked, todays)),
        frozenset(desk.repertoire.put_off_on(desk.day())),
        agenda.weights(desk, tunes.uuids, tunes.joins),
        agenda.date_gain(desk, tunes.uuids, tunes.joins, beliefs),
    )


def pace_of(desk: OpenFile) -> Pace:
    """Return the player's pace, measured from one rating of a round to the next."""
    newest = desk.repertoire.recent_checks(PACE_CHECKS)
    seconds: dict[Prompt, list[float]] = {prompt: [] for prompt in Prompt}
    for check, before in pairwise(newest):
        if check.round_uuid and check.round_uuid == before.round_uuid:
            seconds[check.prompt].append((check.at - before.at).total_seconds())
    return measured_pace(seconds[Prompt.HOW], seconds[Prompt.WHAT])


def _last(desk: OpenFile, at: Moment, wishes: Wishes) -> Plan | None:
    """The last round from what today brought; ``None`` when nothing was asked yet."""
    now, todays = at.now, at.todays
    places = {uuid: place for place, uuid in enumerate(now.uuids)}
    earlier = [check for check in todays if check.round_kind is not RoundKind.LAST]
    if not earlier and not at.practised:
        return None
    asked_last = frozenset(
        places[row_asked(check)]
        for check in todays
        if check.round_kind is RoundKind.LAST and row_asked(check) in places
    )
    learned = [check.tune for check in earlier if row_asked(check) == check.tune]
    learned = [uuid for uuid in learned if desk.tunes[uuid].status is Status.LEARNING]
    practised = [entry.tune for entry in at.practised if not entry.played_at]
    worked_on = [places[uuid] for uuid in (*learned, *practised) if uuid in places]
    again = once_more(now, failed_today(earlier, places), worked_on, asked_last)
    tunings = [now.tuning[pick.place] for pick in again]
    tuning = wishes.tuning or (tunings[0] if tunings else wishes.instrument)
    here = [pick for pick in again if now.tuning[pick.place] == tuning]
    return last_round(now, wishes, at.pace, here, tuning)
