"""Planning a round for this repertoire, this moment and this player."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.memory.gain import ask_value, asking
from tunememory.planning.coming_back import RETURN_DAYS, returned_on
from tunememory.planning.pace import measured_pace
from tunememory.planning.rounds import Plan, Wishes, first_round, last_round, once_more
from tunememory.service.asking import PROMPTS, Fixed, failed_today, fixed, standing
from tunememory.service.blocks import in_blocks
from tunememory.service.chances import picture
from tunememory.service.drafts import tuning_of
from tunememory.service.shown import start_views
from tunememory.service.twins import ensure, twin_map, twins_of
from tunememory.service.views import Asked, Planned
from tunememory.tunes.check import NAME, Prompt, RoundKind, prompt_strands
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.planning.standing import Pace, Pick, Standing
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.check import Check

PACE_CHECKS = 200
"""Newest checks from which the player's pace is measured."""


@dataclass(frozen=True, slots=True)
class Moment:
    """All that rounds are planned from, read once.

    Attributes:
        day: The practice day.
        todays: Its checks so far, in order.
        now: The repertoire as the planner takes it.
        pace: Seconds a check takes this player.
        returned: Model day on which the player came back from time away, or ``None``.
    """

    day: date
    todays: tuple[Check, ...]
    now: Standing
    pace: Pace
    returned: float | None


def moment(desk: OpenFile) -> Moment:
    """Read what rounds are planned from."""
    day = desk.day()
    todays = checks_of(desk, day)
    pace = pace_of(desk)
    prompts = max(1, round(desk.settings.minutes_first * 60 / pace.how))
    return Moment(day, todays, standing_now(desk, todays, prompts), pace, _returned(desk, day))


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
        minutes: Length, or ``None`` for the setting.
        tuning: Another tuning than the plan would choose (strings or nickname).
        only_kind: Only tunes of this kind.

    Raises:
        ServiceError: The tuning cannot be read.
    """
    settings = desk.settings
    default = settings.minutes_last if kind is RoundKind.LAST else settings.minutes_first
    asked_tuning = tuning_of(tuning) if tuning else None
    wishes = Wishes(
        minutes=default if minutes is None else minutes,
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
        note=note_of(desk, at, made),
        coming_back=at.returned is not None,
    )


def minutes_of(at: Moment, made: Plan) -> float:
    """Return the minutes a plan takes this player."""
    return sum(at.pace.of(pick.prompt) for pick in made.picks) / 60


def checks_of(desk: OpenFile, day: date) -> tuple[Check, ...]:
    """Return the checks of one practice day, in order."""
    # A practice day may begin a day earlier in UTC, and its end may have been moved since.
    since = datetime.combine(day, time(), tzinfo=UTC) - timedelta(days=1)
    return tuple(check for check in desk.repertoire.checks(since=since) if check.day == day)


def fixed_now(desk: OpenFile) -> Fixed:
    """Return the planning arrays of the tunes, made anew only when a tune changed."""
    beliefs = desk.remembered.all()
    return desk.kept(
        "fixed",
        lambda: fixed(
            [desk.tunes[uuid] for uuid in beliefs.uuids],
            beliefs.mean.shape[1],
            desk.settings.usual,
            twin_map(desk),
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
    beliefs = desk.remembered.all()
    tunes = fixed_now(desk)
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
        {uuid: to_days(moment) for uuid, moment in desk.last_met.items()},
        frozenset(check.tune for check in todays),
        frozenset(desk.repertoire.put_off_on(desk.day())),
    )


def pace_of(desk: OpenFile) -> Pace:
    """Return the player's pace, measured from one rating of a round to the next."""
    newest = desk.repertoire.recent_checks(PACE_CHECKS)
    seconds: dict[Prompt, list[float]] = {prompt: [] for prompt in Prompt}
    for check, before in pairwise(newest):
        if check.round_uuid and check.round_uuid == before.round_uuid:
            seconds[check.prompt].append((check.at - before.at).total_seconds())
    return measured_pace(seconds[Prompt.HOW], seconds[Prompt.WHAT])


def asked_of(desk: OpenFile, now: Standing, pick: Pick) -> Asked:
    """Return a prompt with all that may be revealed."""
    tune = desk.tune(now.uuids[pick.place])
    prompt = PROMPTS[pick.prompt]
    return Asked(
        tune=tune,
        prompt=prompt,
        strands=(NAME,) if prompt is Prompt.WHAT else prompt_strands(tune, prompt),
        chance=float(now.chance[pick.place]),
        why=pick.why,
        starts=start_views(tune, desk.settings.usual),
        twins=twins_of(desk, tune.uuid),
        tuning=now.tuning[pick.place],
    )


def _last(desk: OpenFile, at: Moment, wishes: Wishes) -> Plan | None:
    """The last round from what today brought; ``None`` when nothing was asked yet."""
    now, todays = at.now, at.todays
    places = {uuid: place for place, uuid in enumerate(now.uuids)}
    earlier = [check for check in todays if check.round_kind is not RoundKind.LAST]
    if not earlier:
        return None
    asked_last = frozenset(
        places[check.tune]
        for check in todays
        if check.round_kind is RoundKind.LAST and check.tune in places
    )
    worked_on = [
        places[check.tune]
        for check in earlier
        if check.tune in places and desk.tune(check.tune).status is Status.LEARNING
    ]
    again = once_more(now, failed_today(earlier, places), worked_on, asked_last)
    tunings = [now.tuning[pick.place] for pick in again]
    tuning = wishes.tuning or (tunings[0] if tunings else wishes.instrument)
    here = [pick for pick in again if now.tuning[pick.place] == tuning]
    return last_round(now, wishes, at.pace, here, tuning)


def _returned(desk: OpenFile, day: date) -> float | None:
    """Model day of the player's return from time away, or ``None``."""
    since = desk.now() - timedelta(days=RETURN_DAYS + 1)
    days = [past.toordinal() for past in desk.repertoire.practice_days(since)]
    back = returned_on(days, day.toordinal())
    if back is None:
        return None
    return to_days(datetime.combine(date.fromordinal(back), time(), tzinfo=UTC))


def note_of(desk: OpenFile, at: Moment, made: Plan) -> str:
    """Return the one line that goes with a plan, mostly empty."""
    if at.returned is not None:
        return "Welcome back. The surest tunes first, a few a day."
    if made.waiting:
        longest = made.waiting[0]
        number = "1 tune" if longest.tunes == 1 else f"{longest.tunes} tunes"
        since = "not met yet" if longest.days == float("inf") else f"for {longest.days:.0f} days"
        return f"{number} in {longest.tuning} waiting ({since})."
    learning = sum(tune.status is Status.LEARNING for tune in desk.tunes.values())
    if learning > desk.settings.intake:
        return f"{learning} tunes in learning; {desk.settings.intake} at a time are asked."
    if not made.picks:
        return "Nothing to ask just now."
    return ""
