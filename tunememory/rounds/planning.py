"""Planning a round for this repertoire, this moment and this player."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tunememory.dates import agenda, weights
from tunememory.dates.agenda import dates_of
from tunememory.errors import NotDoneError
from tunememory.history import joins
from tunememory.history.days import checks_between, pace_of, prompts_in, returned
from tunememory.history.joins import beliefs_of, joined_tunes, joins_of
from tunememory.library import sets
from tunememory.library.overview import chance_of, rows_of
from tunememory.library.starts import StartView, start_views
from tunememory.library.twins import Twin, ensure, twin_map, twins_of
from tunememory.music.strings import tuning_of
from tunememory.music.tune import Status, Tune
from tunememory.recall.belief import in_blocks
from tunememory.recall.chances import picture
from tunememory.recall.check import NAME, Prompt, RoundKind, join_to, prompt_strands
from tunememory.recall.gain import ask_value, asking
from tunememory.rounds import date_share
from tunememory.rounds.candidates import (
    COLUMNS,
    PROMPTS,
    Fixed,
    failed_today,
    fixed,
    last_met,
    row_asked,
    standing,
    with_joins,
)
from tunememory.rounds.choosing import Plan, Wishes, first_round, last_round, once_more
from tunememory.session import About, Memo
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from tunememory.history.days import Pace
    from tunememory.library.overview import TuneRow
    from tunememory.recall.check import Check, Practice
    from tunememory.rounds.candidates import Pick, Standing
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class Asked:
    """One prompt of a round, with all that may be revealed.

    Attributes:
        tune: The tune asked for; of a join the one that comes next, its title included.
        after: Of a join the tune before it, which is named in the question; else ``None``.
    """

    tune: Tune
    prompt: Prompt
    strands: tuple[str, ...]
    chance: float
    why: str
    starts: tuple[StartView, ...]
    twins: tuple[Twin, ...]
    tuning: str
    after: Tune | None = None

    @property
    def of(self) -> Tune:
        """The tune its checks stand under in the history."""
        return self.after or self.tune


@dataclass(frozen=True, slots=True)
class Planned:
    """A round before it is begun. ``note`` says what waits in another tuning, or what was left."""

    kind: RoundKind
    day: date
    tuning: str
    minutes: float
    asked: tuple[Asked, ...]
    note: str
    coming_back: bool


def asked_of(session: Session, now: Standing, pick: Pick) -> Asked:
    """Return a prompt with all that may be revealed."""
    after = None
    strands: tuple[str, ...] = (NAME,)
    if now.is_join(pick.place):
        first, second = joined_tunes(now.uuids[pick.place])
        after, tune, prompt = session.tune(first), session.tune(second), Prompt.JOIN
        strands = (join_to(second),)
    else:
        tune, prompt = session.tune(now.uuids[pick.place]), PROMPTS[pick.prompt]
        if prompt is Prompt.HOW:
            strands = prompt_strands(tune, prompt)
    chance = float(now.chance[pick.place]) if after else chance_of(session, tune.uuid, strands)
    return Asked(
        tune=tune,
        prompt=prompt,
        strands=strands,
        chance=chance,
        why=pick.why,
        starts=start_views(tune, session.settings),
        twins=twins_of(session, tune.uuid),
        tuning=now.tuning[pick.place],
        after=after,
    )


def note_of(session: Session, made: Plan, *, coming_back: bool) -> str:
    """Return the one line that goes with a plan, mostly empty."""
    return next(_notes(session, made, coming_back=coming_back), "")


def _notes(session: Session, made: Plan, *, coming_back: bool) -> Iterator[str]:
    """What there is to say of a plan, what matters most first."""
    if coming_back:
        yield "Welcome back. The surest tunes first, a few a day."
    if agenda.is_off(session):
        yield "A day off: nothing has to be asked."
    if agenda.is_eve(session):
        yield "A date is tomorrow: starts in the head, the hands rest."
    if dates_of(session):
        yield from _untold(session)
    for longest in made.waiting[:1]:
        number = counted(longest.tunes, "tune")
        if longest.date_in is not None:
            wait = "waits" if longest.tunes == 1 else "wait"
            yield f"For a date in {longest.date_in} days {number} {wait} in {longest.tuning}."
        since = "not met yet" if longest.days == float("inf") else f"for {longest.days:.0f} days"
        yield f"{number} in {longest.tuning} waiting ({since})."
    learning = sum(tune.status is Status.LEARNING for tune in session.tunes.values())
    if learning > session.settings.intake:
        yield f"{learning} tunes in learning; {session.settings.intake} at a time are asked."
    if not made.picks:
        yield "Nothing to ask just now."


def _untold(session: Session) -> Iterator[str]:
    """Ask what was played at a date that has just been."""
    from tunememory.dates.played import dates_to_tell  # noqa: PLC0415 - where there are dates

    for past in dates_to_tell(session)[:1]:
        when = ago(past.on, session.day())
        yield f"What was played at {past.dated.title}, {when}? Tell it under the dates."


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


def begun(session: Session, at: Moment, kind: RoundKind) -> Begun:
    """Return how far the rounds of ``kind`` have come today.

    A round in which nothing was answered is as good as not begun. What is left is counted in
    minutes at the player's pace, as rounds are planned, and not in those that went by.
    """
    checks = [check for check in at.todays if check.round_kind is kind]
    answered = {check.round_uuid for check in checks}
    past = [each for each in session.repertoire.rounds.on(at.day) if each.uuid in answered]
    ended = any(each.ended_at for each in past)
    if ended or not past:
        return Begun(len(checks), ended, None)
    spent = sum(at.pace.of(COLUMNS[check.prompt]) for check in checks)
    # Half a check more rounds to whole checks: neither sums of fractions nor a pace that has
    # changed a little since may lose one, and a slower pace must not make nothing of the rest.
    half = min(at.pace.how, at.pace.what) / 2
    left = max(0.0, past[0].minutes * 60 - spent) + half
    return Begun(len(checks), ended, left / 60)


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


def moment(session: Session) -> Moment:
    """Read what rounds are planned from."""
    day = session.day()
    todays = tuple(checks_between(session, day, day))
    pace = pace_of(session)
    practised = tuple(session.repertoire.practices.all(first_day=day, last_day=day))
    now = standing_now(session, todays, prompts_in(session, pace))
    return Moment(day, todays, practised, now, pace, returned(session))


def chosen(
    session: Session,
    at: Moment,
    kind: RoundKind,
    minutes: float | None = None,
    tuning: str | None = None,
    only_kind: str | None = None,
) -> Plan:
    """Choose the prompts of a round.

    Args:
        session: The open repertoire.
        at: What the choice rests on.
        kind: First, last or loose.
        minutes: Length, or ``None`` for what is left of today's round, else for the setting.
        tuning: Another tuning than the plan would choose (strings or nickname).
        only_kind: Only tunes of this kind.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    settings = session.settings
    default = settings.minutes_last if kind is RoundKind.LAST else settings.minutes_first
    if minutes is None:
        minutes = begun(session, at, kind).minutes or default
    asked_tuning = tuning_of(tuning) if tuning else None
    wishes = Wishes(
        minutes=minutes,
        instrument=settings.standing.letters,
        tuning=asked_tuning.letters if asked_tuning else None,
        kind=only_kind.casefold() if only_kind else None,
        intake=settings.intake,
        returned=at.returned,
    )
    made = _last(session, at, wishes) if kind is RoundKind.LAST else None
    return made or first_round(at.now, wishes, at.pace, session.now_days())


def plan_round(
    session: Session,
    kind: RoundKind,
    minutes: float | None = None,
    tuning: str | None = None,
    only_kind: str | None = None,
) -> Planned:
    """Plan a round with all that it may show; nothing is written. Arguments as ``chosen``.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    at = moment(session)
    made = chosen(session, at, kind, minutes, tuning, only_kind)
    if ensure(session, (at.now.uuids[pick.place] for pick in made.picks)):
        # New starts were compared only now: twins may have to be kept apart after all.
        at = moment(session)
        made = chosen(session, at, kind, minutes, tuning, only_kind)
    return Planned(
        kind=kind,
        day=at.day,
        tuning=made.tuning,
        minutes=minutes_of(at, made),
        asked=tuple(asked_of(session, at.now, pick) for pick in made.picks),
        note=note_of(session, made, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
    )


def minutes_of(at: Moment, made: Plan) -> float:
    """Return the minutes a plan takes this player."""
    return sum(at.pace.of(pick.prompt) for pick in made.picks) / 60


def _fixed_now(session: Session) -> Fixed:
    beliefs = session.remembered.all()
    return fixed(
        [session.tunes[uuid] for uuid in beliefs.uuids],
        beliefs.mean.shape[1],
        session.settings.usual,
        twin_map(session),
        joins_of(session).of_sets,
        weights.awake(session),
    )


fixed_now = Memo(
    _fixed_now,
    About.TUNES | About.SETS | About.TWINS | About.SETTINGS | About.CHANGES | About.BELIEFS,
    daily=True,
)
"""The planning arrays of the tunes; a season may wake other tunes on another day."""


def standing_now(session: Session, todays: Sequence[Check], prompts_a_day: int) -> Standing:
    """Return the repertoire as the planner takes it, now.

    Args:
        session: The open repertoire.
        todays: The checks of the practice day so far.
        prompts_a_day: How many prompts the player's minutes hold; sets what a check is worth.
    """
    at = session.now_days()
    tunes = fixed_now(session)
    joins = beliefs_of(session)
    beliefs = with_joins(session.remembered.all(), [joins[join] for join in tunes.joins])
    keeping, growing = in_blocks(beliefs, 2, lambda some: asking(some, at, session.params))
    # What is left in peace must not set the price of a check.
    idle = ~(tunes.how | tunes.what).any(axis=1)
    keeping[idle] = growing[idle] = np.nan
    worth = ask_value(keeping, growing, prompts_a_day)
    return standing(
        tunes,
        beliefs,
        picture(beliefs, at, session.params),
        worth,
        last_met(session.last_met, session.last_practised, joins_of(session)),
        frozenset(map(row_asked, todays)),
        frozenset(session.repertoire.rounds.put_off_on(session.day())),
        weights.date_weights_now(session, tunes.uuids, tunes.joins),
        date_share.date_gain_now(session, tunes.uuids, tunes.joins, beliefs),
    )


def _last(session: Session, at: Moment, wishes: Wishes) -> Plan | None:
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
    learned = [uuid for uuid in learned if session.tunes[uuid].status is Status.LEARNING]
    practised = [entry.tune for entry in at.practised if not entry.played_at]
    worked_on = [places[uuid] for uuid in (*learned, *practised) if uuid in places]
    again = once_more(now, failed_today(earlier, places), worked_on, asked_last)
    tunings = [now.tuning[pick.place] for pick in again]
    tuning = wishes.tuning or (tunings[0] if tunings else wishes.instrument)
    here = [pick for pick in again if now.tuning[pick.place] == tuning]
    return last_round(now, wishes, at.pace, here, tuning)


def plan_tune(session: Session, uuid: str) -> Planned:
    """Plan a loose round of one tune; nothing is written.

    It is asked for from its name, or, if it has none, for its name.

    Raises:
        NotDoneError: The tune is gone, or there is nothing that can be asked of it.
    """
    tune = session.tune(uuid)
    if not _prompt(tune)[1]:
        why = "it is only wanted" if tune.status is Status.WANTED else "it has no name yet"
        raise NotDoneError(f"{tune.title} cannot be asked: {why}")
    return plan_tunes(session, [uuid])


def plan_tunes(session: Session, uuids: Sequence[str]) -> Planned:
    """Plan a loose round of some tunes in their order; nothing is written.

    Each is asked for as ``plan_tune`` does; those of which nothing can be asked are left out.

    Raises:
        NotDoneError: A tune is gone, or nothing can be asked of any of them.
    """
    able = [uuid for uuid in dict.fromkeys(uuids) if _prompt(session.tune(uuid))[1]]
    if not able:
        raise NotDoneError("nothing can be asked of these tunes")
    rows = rows_of(session, able)
    return _round(session, [_asked(session, row) for row in rows], rows[0].tuning)


def plan_set(session: Session, uuid: str) -> Planned:
    """Plan a loose round of a set as it is played: its first tune, then every join in order.

    Raises:
        NotDoneError: The set is gone, or nothing can be asked of it.
    """
    tunes = sets.set_view(session, uuid).tunes
    if not tunes:
        raise NotDoneError("its tunes were all taken out")
    joined = [
        (first.tune, second.tune) for first, second in pairwise(tunes) if first.tune != second.tune
    ]
    rows = rows_of(session, [tune.tune for tune in tunes])
    asked = [_asked(session, rows[0])] if _prompt(session.tune(tunes[0].tune))[1] else []
    asked += [_asked_join(session, join) for join in dict.fromkeys(joined)]
    return _round(session, asked, rows[0].tuning)


def _round(session: Session, asked: Sequence[Asked], tuning: str) -> Planned:
    pace = pace_of(session)
    minutes = sum(pace.of(COLUMNS[one.prompt]) for one in asked) / 60
    return Planned(
        RoundKind.LOOSE, session.day(), tuning, minutes, tuple(asked), "", coming_back=False
    )


def _asked_join(session: Session, join: joins.Join) -> Asked:
    (row,) = rows_of(session, [join[1]])
    return replace(
        _asked(session, row),
        prompt=Prompt.JOIN,
        strands=(join_to(join[1]),),
        chance=joins.chance_of(session, join),
        after=session.tune(join[0]),
    )


def _prompt(tune: Tune) -> tuple[Prompt, tuple[str, ...]]:
    """The prompt a tune is asked with, and what it asks for."""
    prompt = Prompt.HOW if prompt_strands(tune, Prompt.HOW) else Prompt.WHAT
    return prompt, prompt_strands(tune, prompt)


def _asked(session: Session, row: TuneRow) -> Asked:
    tune = row.tune
    prompt, strands = _prompt(tune)
    return Asked(
        tune=tune,
        prompt=prompt,
        strands=strands,
        chance=row.chance.chance,
        why="",
        starts=start_views(tune, session.settings),
        twins=twins_of(session, tune.uuid),
        tuning=row.tuning,
    )


class RoundWish(NamedTuple):
    """A round as it is asked for; what is left out the plan decides. Fields as ``Session.plan``."""

    kind: RoundKind
    minutes: float | None = None
    tuning: str | None = None
    only_kind: str | None = None
