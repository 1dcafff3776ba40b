"""Planning a round for this repertoire, this moment and this player."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tunememory import history
from tunememory.dates import agenda
from tunememory.dates.agenda import dates_of
from tunememory.errors import NotDoneError
from tunememory.history import checks_between, joined_tunes, pace_of, prompts_in, returned
from tunememory.library import sets
from tunememory.library.overview import chance_of
from tunememory.library.starts import StartView, start_views
from tunememory.library.twins import Twin, ensure, twins_of
from tunememory.music.strings import tuning_of
from tunememory.music.tune import Status, Tune
from tunememory.recall.check import Prompt, RoundKind, join_to, prompt_strands
from tunememory.rounds.candidates import COLUMNS, PROMPTS, candidates_now, failed_today, row_asked
from tunememory.rounds.choosing import Plan, Wishes, first_round, last_round, once_more
from tunememory.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from tunememory.history import Pace
    from tunememory.recall.check import Check, Practice
    from tunememory.rounds.candidates import Candidates, Pick
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


def asked_of(session: Session, candidates: Candidates, pick: Pick) -> Asked:
    """Return a prompt with all that may be revealed."""
    uuids = joined_tunes(candidates.uuids[pick.place])
    if candidates.is_join(pick.place):
        return _join_asked(session, uuids[0], uuids[1])
    return _tune_asked(session, uuids[0], PROMPTS[pick.prompt])


def _tune_asked(session: Session, uuid: str, prompt: Prompt) -> Asked:
    tune = session.tune(uuid)
    strands = prompt_strands(tune, prompt)
    return Asked(
        tune=tune,
        prompt=prompt,
        strands=strands,
        chance=chance_of(session, uuid, strands),
        starts=start_views(tune, session.settings),
        twins=twins_of(session, uuid),
        tuning=_tuning(session, tune),
    )


def _join_asked(session: Session, first: str, second: str) -> Asked:
    return replace(
        _tune_asked(session, second, Prompt.JOIN),
        strands=(join_to(second),),
        chance=history.join_chance(session, (first, second)),
        after=session.tune(first),
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


class Progress(NamedTuple):
    """How far the rounds of one kind have come today.

    Attributes:
        asked: Prompts answered.
        ended: One of them was asked to its end.
        minutes: What is left of one that was left before its end, above 0; else ``None``.
    """

    asked: int
    ended: bool
    minutes: float | None


def progress_of(session: Session, at: Moment, kind: RoundKind) -> Progress:
    """Return how far the rounds of ``kind`` have come today.

    A round in which nothing was answered is as good as not begun. What is left is counted in
    minutes at the player's pace, as rounds are planned, and not in those that went by.
    """
    checks = [check for check in at.todays if check.round_kind is kind]
    answered = {check.round_uuid for check in checks}
    past = [each for each in session.repertoire.rounds.on(at.day) if each.uuid in answered]
    ended = any(each.ended_at for each in past)
    if ended or not past:
        return Progress(len(checks), ended, None)
    spent = sum(at.pace.of(COLUMNS[check.prompt]) for check in checks)
    # Half a check more rounds to whole checks: neither sums of fractions nor a pace that has
    # changed a little since may lose one, and a slower pace must not make nothing of the rest.
    half = min(at.pace.how, at.pace.what) / 2
    left = max(0.0, past[0].minutes * 60 - spent) + half
    return Progress(len(checks), ended, left / 60)


@dataclass(frozen=True, slots=True)
class Moment:
    """All that rounds are planned from, read once.

    Attributes:
        day: The practice day.
        todays: Its checks so far, in order.
        practised: Its practice so far, in order.
        candidates: The repertoire as the planner takes it.
        pace: Seconds a check takes this player.
        returned: Model day on which the player came back from time away, or ``None``.
    """

    day: date
    todays: tuple[Check, ...]
    practised: tuple[Practice, ...]
    candidates: Candidates
    pace: Pace
    returned: float | None


def moment(session: Session) -> Moment:
    """Read what rounds are planned from."""
    day = session.day()
    todays = tuple(checks_between(session, day, day))
    pace = pace_of(session)
    practised = tuple(session.repertoire.practices.all(first_day=day, last_day=day))
    candidates = candidates_now(session, todays, prompts_in(session, pace))
    return Moment(day, todays, practised, candidates, pace, returned(session))


class RoundWish(NamedTuple):
    """A round as it is asked for; what is left out the plan decides.

    Attributes:
        kind: First, last or loose.
        minutes: Length, or ``None`` for what is left of today's round, else for the setting.
        tuning: Another tuning than the plan would choose (strings or nickname).
        only_kind: Only tunes of this kind.
    """

    kind: RoundKind
    minutes: float | None = None
    tuning: str | None = None
    only_kind: str | None = None


def chosen(session: Session, at: Moment, wish: RoundWish) -> Plan:
    """Choose the prompts of a round; ``at`` is what the choice rests on.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    settings = session.settings
    last = wish.kind is RoundKind.LAST
    minutes = wish.minutes
    if minutes is None:
        usual = settings.minutes_last if last else settings.minutes_first
        minutes = progress_of(session, at, wish.kind).minutes or usual
    tuning = tuning_of(wish.tuning) if wish.tuning else None
    wishes = Wishes(
        minutes=minutes,
        instrument=settings.standing.letters,
        tuning=tuning.letters if tuning else None,
        kind=wish.only_kind.casefold() if wish.only_kind else None,
        intake=settings.intake,
        returned=at.returned,
    )
    made = _last(session, at, wishes) if last else None
    return made or first_round(at.candidates, wishes, at.pace, session.now_days())


def plan_round(
    session: Session,
    kind: RoundKind,
    minutes: float | None = None,
    tuning: str | None = None,
    only_kind: str | None = None,
) -> Planned:
    """Plan a round with all that it may show; nothing is written. Arguments as ``RoundWish``.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    wish = RoundWish(kind, minutes, tuning, only_kind)
    at = moment(session)
    made = chosen(session, at, wish)
    if ensure(session, (at.candidates.uuids[pick.place] for pick in made.picks)):
        # New starts were compared only now: twins may have to be kept apart after all.
        at = moment(session)
        made = chosen(session, at, wish)
    return Planned(
        kind=kind,
        day=at.day,
        tuning=made.tuning,
        minutes=minutes_of(at, made),
        asked=tuple(asked_of(session, at.candidates, pick) for pick in made.picks),
        note=note_of(session, made, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
    )


def minutes_of(at: Moment, made: Plan) -> float:
    """Return the minutes a plan takes this player."""
    return sum(at.pace.of(pick.prompt) for pick in made.picks) / 60


def _last(session: Session, at: Moment, wishes: Wishes) -> Plan | None:
    """The last round from what today brought; ``None`` when nothing was asked yet."""
    candidates, todays = at.candidates, at.todays
    places = {uuid: place for place, uuid in enumerate(candidates.uuids)}
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
    again = once_more(candidates, failed_today(earlier, places), worked_on, asked_last)
    tunings = [candidates.tuning[pick.place] for pick in again]
    tuning = wishes.tuning or (tunings[0] if tunings else wishes.instrument)
    here = [pick for pick in again if candidates.tuning[pick.place] == tuning]
    return last_round(candidates, wishes, at.pace, here, tuning)


def plan_tune(session: Session, uuid: str) -> Planned:
    """Plan a loose round of one tune; nothing is written.

    It is asked for from its name, or, if it has none, for its name.

    Raises:
        NotDoneError: The tune is gone, or there is nothing that can be asked of it.
    """
    tune = session.tune(uuid)
    if _prompt(tune) is None:
        why = "it is only wanted" if tune.status is Status.WANTED else "it has no name yet"
        raise NotDoneError(f"{tune.title} cannot be asked: {why}")
    return plan_tunes(session, [uuid])


def plan_tunes(session: Session, uuids: Sequence[str]) -> Planned:
    """Plan a loose round of some tunes in their order; nothing is written.

    Each is asked for as ``plan_tune`` does; those of which nothing can be asked are left out.

    Raises:
        NotDoneError: A tune is gone, or nothing can be asked of any of them.
    """
    asked = [
        _tune_asked(session, uuid, prompt)
        for uuid in dict.fromkeys(uuids)
        if (prompt := _prompt(session.tune(uuid))) is not None
    ]
    if not asked:
        raise NotDoneError("nothing can be asked of these tunes")
    return _loose_round(session, asked)


def plan_set(session: Session, uuid: str) -> Planned:
    """Plan a loose round of a set as it is played: its first tune, then every join in order.

    Raises:
        NotDoneError: The set is gone, or nothing can be asked of it.
    """
    tunes = [each.tune for each in sets.set_view(session, uuid).tunes]
    if not tunes:
        raise NotDoneError("its tunes were all taken out")
    prompt = _prompt(session.tune(tunes[0]))
    asked = [] if prompt is None else [_tune_asked(session, tunes[0], prompt)]
    for first, second in dict.fromkeys(pairwise(tunes)):
        if first != second:
            asked.append(_join_asked(session, first, second))
    return _loose_round(session, asked, session.tune(tunes[0]))


def _loose_round(session: Session, asked: Sequence[Asked], opening: Tune | None = None) -> Planned:
    """A round of these prompts, in the tuning of its first tune."""
    pace = pace_of(session)
    return Planned(
        kind=RoundKind.LOOSE,
        day=session.day(),
        tuning=_tuning(session, opening or asked[0].tune),
        minutes=sum(pace.of(COLUMNS[one.prompt]) for one in asked) / 60,
        asked=tuple(asked),
        note="",
        coming_back=False,
    )


def _tuning(session: Session, tune: Tune) -> str:
    return (tune.tuning or session.settings.usual).letters


def _prompt(tune: Tune) -> Prompt | None:
    """The prompt a tune is asked with by itself, ``None`` where nothing can be asked of it."""
    return next((way for way in (Prompt.HOW, Prompt.WHAT) if prompt_strands(tune, way)), None)
