"""A day's sitting: first round, practice, last round, and the line to tomorrow."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tunememory.errors import NotDoneError
from tunememory.history import checks_between, record_practice, returned
from tunememory.recall.check import Level, Practice, RoundKind, joined_by
from tunememory.rounds.planning import RoundWish, chosen, minutes_of, progress_of
from tunememory.rounds.running import sitting_of
from tunememory.store.records import At, new_identity
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, datetime

    from tunememory.recall.check import Check
    from tunememory.rounds.choosing import Plan
    from tunememory.rounds.planning import Moment
    from tunememory.session import Session
    from tunememory.store.records import Sitting


class RoundToday(NamedTuple):
    """The first or the last round of a sitting, as it would be asked now.

    Attributes:
        minutes: What asking ``prompts`` takes.
        prompts: How many would be asked now: of a round that was left, what is left.
        done: It was asked to its end today.
        asked: How many were asked today.
    """

    kind: RoundKind
    minutes: float
    prompts: int
    done: bool
    asked: int = 0


def rounds_today(session: Session, at: Moment, first: Plan) -> tuple[RoundToday, ...]:
    """Return the first and the last round.

    A round that was left before its end is not done while there is something left to ask.

    Args:
        session: The open repertoire.
        at: What rounds are planned from.
        first: The first round as planned.
    """
    last = chosen(session, at, RoundWish(RoundKind.LAST))
    rounds = []
    for kind, plan in ((RoundKind.FIRST, first), (RoundKind.LAST, last)):
        before, prompts = progress_of(session, at, kind), len(plan.picks)
        done = before.ended or (before.asked > 0 and not prompts)
        rounds.append(RoundToday(kind, minutes_of(at, plan), prompts, done, before.asked))
    return tuple(rounds)


def would_not_come(checks: Iterable[Check]) -> list[str]:
    """Return the tunes with a level below 3 in a cold check; of a join the one that did not come.

    Args:
        checks: Of one day, in order; those of last rounds are passed over.
    """
    found: list[str] = []
    for check in checks:
        strand, level = min(check.levels, key=lambda pair: pair[1])
        if check.round_kind is not RoundKind.LAST and level < Level.FIND:
            found.append(joined_by(strand) or check.tune)
    return list(dict.fromkeys(found))


@dataclass(frozen=True, slots=True)
class Minutes:
    """Minutes of a day.

    Attributes:
        instrument: Practised with the instrument.
        head: Practised in the head alone.
        rounds: Spent in rounds.
    """

    instrument: float = 0.0
    head: float = 0.0
    rounds: float = 0.0


LONGEST_GAP = 90.0
"""Seconds from one rating to the next that count at most: longer, and the player was away."""


def minutes_of_day(
    session: Session, day: date, checks: Iterable[Check], practices: Iterable[Practice]
) -> Minutes:
    """Return the minutes of one day.

    Args:
        session: The open repertoire.
        day: The practice day.
        checks: Its checks, in order.
        practices: Its practice; what was played at a date is no practice.
    """
    instrument = head = 0.0
    for entry in practices:
        if not entry.played_at and entry.head_only:
            head += entry.minutes
        elif not entry.played_at:
            instrument += entry.minutes
    moments: defaultdict[str, list[datetime]] = defaultdict(list)
    for each in session.repertoire.rounds.on(day):
        moments[each.uuid].append(each.begun_at)
    for check in checks:
        if check.round_uuid:
            moments[check.round_uuid].append(check.at)
    seconds = sum(
        min((later - earlier).total_seconds(), LONGEST_GAP)
        for of_round in moments.values()
        for earlier, later in pairwise(of_round)
    )
    return Minutes(instrument, head, seconds / 60)


def minutes_today(session: Session) -> Minutes:
    """Return the minutes of today."""
    day = session.day()
    practices = session.repertoire.practices.all(None, day, day)
    return minutes_of_day(session, day, checks_between(session, day, day), practices)


PAUSE_MINUTES = 25.0
"""Minutes of practice after which a pause is offered (Klickstein, The Musician's Way, 2009, p. 75:
alone, about 5 minutes after 25)."""

MOST_MINUTES = 24 * 60.0


def checked_minutes(minutes: float) -> float:
    """Return ``minutes`` if a day can hold them.

    Raises:
        NotDoneError: It cannot.
    """
    if not 0 <= minutes <= MOST_MINUTES:
        raise NotDoneError("give the minutes as a number from 0 to 1440")
    return minutes


def asks_minutes(session: Session) -> bool:
    """Whether the player comes back after long: how many minutes today is asked first."""
    day = session.day()
    return returned(session) is not None and not checks_between(session, day, day)


def go_to_step(session: Session, step: At) -> None:
    """Go to a step, forward or back; a closed day is opened again.

    Raises:
        NotDoneError: The file cannot be written.
    """
    _save(session, replace(sitting_of(session), step=step, stopped=False, closed_at=None))


def set_head_only(session: Session, *, on: bool) -> bool:
    """Say whether the sitting is held without the instrument, and return it.

    Raises:
        NotDoneError: The file cannot be written.
    """
    _save(session, replace(sitting_of(session), head_only=on))
    return on


def pick_up_today(session: Session) -> str:
    """Return the line written today for the next time, empty for none."""
    day = session.day()
    return session.repertoire.pick_ups.all(day, day).get(day, "")


def set_pick_up(session: Session, line: str) -> None:
    """Write today's line to the next time, in place of an earlier one; empty takes it out.

    Raises:
        NotDoneError: The file cannot be written.
    """
    with session.changing():
        session.repertoire.pick_ups.save(session.day(), clean_text(line))


def close_day(session: Session, line: str = "") -> None:
    """Close the day, with a line to the next time unless it is empty.

    Raises:
        NotDoneError: The file cannot be written; nothing was.
    """
    with session.changing():
        if clean_text(line):
            set_pick_up(session, line)
        _save(session, replace(sitting_of(session), step=At.OVER, closed_at=session.now()))


def stop_for_pain(session: Session, minutes: float = 0.0) -> None:
    """End the sitting at once and keep everything.

    Args:
        session: The open repertoire.
        minutes: Of the practice clock, not yet written down.

    Raises:
        NotDoneError: The file cannot be written.
    """
    with session.changing():
        if minutes > 0:
            # A clock that was left running must not keep the sitting from ending.
            log_minutes(session, min(minutes, MOST_MINUTES))
        over = replace(sitting_of(session), step=At.OVER, stopped=True, closed_at=session.now())
        _save(session, over)


def log_minutes(session: Session, minutes: float) -> Practice:
    """Write down minutes of the practice clock that belong to no tune.

    Raises:
        NotDoneError: The minutes make no sense, or the file cannot be written.
    """
    entry = Practice(
        uuid=new_identity(),
        at=session.now(),
        day=session.day(),
        minutes=checked_minutes(minutes),
        head_only=sitting_of(session).head_only,
    )
    record_practice(session, entry)
    return entry


def _save(session: Session, sitting: Sitting) -> None:
    with session.changing():
        session.repertoire.sittings.save(sitting)
