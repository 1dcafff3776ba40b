"""What was asked and played: put on disk with the beliefs in step, and read again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.errors import NotDoneError
from tunememory.music.tune import Declared
from tunememory.recall.belief import Entry, TuneBelief, first_belief, stack
from tunememory.recall.chances import weakest_chances
from tunememory.recall.check import (
    FIRST_START_COLUMN,
    NAME,
    Check,
    Level,
    Prompt,
    RoundKind,
    join_to,
    joined_by,
    strand_of,
    strands_of,
)
from tunememory.recall.replay import capped, event_of, exposure_of, histories_of, replay, replayed
from tunememory.recall.state import State
from tunememory.recall.table import columns_of
from tunememory.recall.update import CheckEvent, after
from tunememory.session import About, Memo
from tunememory.store.records import new_identity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.music.tune import Tune
    from tunememory.recall.check import Practice
    from tunememory.recall.parameters import Parameters
    from tunememory.recall.state import Chance
    from tunememory.recall.update import Event
    from tunememory.session import Session
    from tunememory.store.records import TuneSet


Join = tuple[str, str]
"""Identities of two tunes, the second played after the first."""

COLUMN = FIRST_START_COLUMN
"""Where a join's one strand stands in its belief: what is asked for is a start."""

STRAND = strand_of(COLUMN)
"""The strand of that column."""


@dataclass(frozen=True, slots=True)
class Joins:
    """Joins of all sets, and of sets that were.

    Attributes:
        of_sets: Those of the present sets, each once, in the order of the sets.
        checks: Checks of each join that was ever asked, oldest first.
    """

    of_sets: tuple[Join, ...]
    checks: dict[Join, list[Check]]

    def last_asked(self, join: Join) -> datetime | None:
        """When a join was asked last, ``None`` if never."""
        asked = self.checks.get(join)
        return asked[-1].at if asked else None


def keep_in_step(session: Session, check: Check) -> None:
    """Bring what is believed in step with a check of a join that was just written."""
    join = join_of(check)
    joins, believed = joins_of(session), join_beliefs(session)
    if join is None or join not in believed:
        session.changed(About.CHANGES)
        return
    made = joins.checks.setdefault(join, [])
    if check in made or any(check.at < past.at for past in made):
        # Read from the file with this check in it, or a late one: its place is not the last.
        session.changed(About.CHANGES)
        return
    before = believed[join] if made else _fresh(session.params, to_days(check.at))
    made.append(check)
    believed[join] = after(before, _event(check), session.params)


def join_of(check: Check) -> Join | None:
    """Return the join a check asked for, ``None`` for other checks."""
    after = joined_by(check.levels[0][0])
    return (check.tune, after) if after else None


def row_of(join: Join) -> str:
    """Return the identity of a join where it stands in line with tunes."""
    return f"{join[0]} {join_to(join[1])}"


def joined_tunes(row: str) -> tuple[str, ...]:
    """Return the tunes an identity stands for: one, or the two of a join (``row_of``)."""
    first, space, rest = row.partition(" ")
    return (first, joined_by(rest)) if space else (first,)


def join_chance(session: Session, join: Join) -> float:
    """Return the chance that a join comes now; one of no present set counts as never asked."""
    belief = stack([join_belief(session, join)])
    return weakest_chances(belief, (STRAND,), session.now_days(), session.params)[0]


def join_belief(session: Session, join: Join) -> TuneBelief:
    """Return what is believed of a join; one of no present set counts as never asked."""
    return join_beliefs(session).get(join) or _fresh(session.params, session.now_days())


def pairs_of(tune_set: TuneSet) -> tuple[Join, ...]:
    """Return the joins of one set in order; a tune played twice running has none."""
    return tuple(pair for pair in pairwise(tune_set.tunes) if pair[0] != pair[1])


def _read(session: Session) -> Joins:
    pairs = (pair for one in session.sets.values() for pair in pairs_of(one))
    checks: dict[Join, list[Check]] = {}
    for check in session.repertoire.checks.of_joins():
        join = join_of(check)
        if join is not None:
            checks.setdefault(join, []).append(check)
    return Joins(tuple(dict.fromkeys(pairs)), checks)


def _believed(session: Session) -> dict[Join, TuneBelief]:
    joins = joins_of(session)
    firsts = [_first(joins, join, session) for join in joins.of_sets]
    events = [[_event(check) for check in joins.checks.get(join, ())] for join in joins.of_sets]
    return dict(zip(joins.of_sets, replay(firsts, events, session.params), strict=True))


def _first(joins: Joins, join: Join, session: Session) -> TuneBelief:
    """Belief before a join is first asked: as of a tune in learning, however old the set is.

    When the set was first played is not known, so it counts as met the day before it is first
    asked (own choice).
    """
    checks = joins.checks.get(join)
    at = to_days(checks[0].at) if checks else session.now_days()
    return _fresh(session.params, at)


def _fresh(params: Parameters, at: float) -> TuneBelief:
    return first_belief([COLUMN], Declared.LEARNING, at, params)


def _event(check: Check) -> CheckEvent:
    return CheckEvent(
        at=to_days(check.at),
        day=check.day.toordinal(),
        levels=((COLUMN, int(check.levels[0][1])),),
        hints=check.hints,
        cold=check.round_kind is not RoundKind.LAST,
    )


joins_of = Memo(_read, About.TUNES | About.SETS | About.CHANGES)
"""The joins of the repertoire."""

join_beliefs = Memo(_believed, About.TUNES | About.SETS | About.CHANGES | About.BELIEFS)
"""What is believed of every join of the present sets."""


def record(session: Session, check: Check) -> None:
    """Write ``check`` and the tune's belief after it in one transaction, on disk on return.

    Raises:
        NotDoneError: It could not be written, or the tune was taken out; nothing was written.
    """
    check = capped(check)
    if check.prompt is Prompt.JOIN:
        _record_join(session, check)
        return
    with session.repertoire.writing():
        _read_anew(session, check.tune)
        before = session.beliefs.of(check.tune)
        if _comes_after(check.at, before):
            belief = after(before, event_of(check), session.params)
        else:
            # A late or merged check: put in its place in the history.
            belief = _replayed(session, check.tune, checks=[check])
        session.repertoire.checks.record(check, belief.to_bytes())
    session.beliefs.put(check.tune, belief)
    if check.day != session.day():
        session.changed(About.CHECKS)
    session.last_met[check.tune] = max(check.at, session.last_met.get(check.tune, check.at))


def withdraw(session: Session, check: Check) -> None:
    """Take back a check: it stays in the file, marked, and no longer counts.

    Raises:
        NotDoneError: It could not be written.
    """
    with session.repertoire.writing():
        session.repertoire.checks.withdraw(check.uuid, session.now(), None)
        if check.prompt is Prompt.JOIN:
            session.changed(About.CHANGES)
            return
        belief = _replayed(session, check.tune)
        _keep(session, check.tune, belief)
    session.beliefs.put(check.tune, belief)
    session.changed(About.CHECKS)


def record_practice(session: Session, entry: Practice) -> None:
    """Write a practice entry and its tune's belief after it in one transaction.

    Raises:
        NotDoneError: It could not be written; nothing was.
    """
    belief = None
    with session.repertoire.writing():
        _read_anew(session, entry.tune)
        if entry.tune:
            before = session.beliefs.of(entry.tune)
            if _comes_after(entry.at, before):
                exposure = exposure_of(entry, session.tune(entry.tune))
                belief = after(before, exposure, session.params)
            else:
                belief = _replayed(session, entry.tune, practices=[entry])
        session.repertoire.practices.record(entry, belief.to_bytes() if belief else None)
    if belief is not None:
        session.beliefs.put(entry.tune, belief)
    session.changed(About.PRACTICE)


def withdraw_practice(session: Session, entry: Practice) -> None:
    """Take back a practice entry: it stays in the file, marked, and no longer counts.

    Raises:
        NotDoneError: It could not be written.
    """
    belief = None
    with session.repertoire.writing():
        session.repertoire.practices.withdraw(entry.uuid, session.now(), None)
        if entry.tune in session.tunes:
            belief = _replayed(session, entry.tune)
            _keep(session, entry.tune, belief)
    if belief is not None:
        session.beliefs.put(entry.tune, belief)
    session.changed(About.PRACTICE)


def record_check_away(session: Session, uuid: str, levels: dict[str, Level], at: datetime) -> Check:
    """Record a check made away from the screen, for instance at the session.

    Raises:
        NotDoneError: The moment lies in the future, or a strand is not the tune's.
    """
    tune = session.tune(uuid)
    strands = strands_of(tune)
    for strand in levels:
        if strand not in strands:
            raise NotDoneError(
                f"{tune.title} has no strand {strand}: it has {', '.join(strands) or 'none yet'}"
            )
    if at > session.now():
        raise NotDoneError("a check cannot lie in the future: give the time it was made")
    ordered = tuple((strand, levels[strand]) for strand in strands if strand in levels)
    prompt = Prompt.WHAT if set(levels) == {NAME} else Prompt.HOW
    check = Check(new_identity(), uuid, at, session.day_of(at), RoundKind.AWAY, prompt, ordered)
    record(session, check)
    return check


def _record_join(session: Session, check: Check) -> None:
    with session.changing():
        _read_anew(session, check.tune)
        join_beliefs(session)  # as they were before this check
        session.repertoire.checks.record(check, None)
        keep_in_step(session, check)


def _read_anew(session: Session, tune: str) -> None:
    """Read the file anew if another window wrote it, which may have taken the tune out.

    Raises:
        NotDoneError: It has.
    """
    if session.changed_elsewhere():
        session.reload()
        if tune:
            session.tune(tune)


def _comes_after(at: datetime, belief: TuneBelief) -> bool:
    """Whether ``at`` is later than all the belief has seen, so that one step is enough."""
    seen = belief.exposed_at[np.isfinite(belief.exposed_at)]
    return not belief.gains.any() or not len(seen) or bool(to_days(at) > seen.max())


def _replayed(
    session: Session, tune: str, checks: list[Check] | None = None,
    practices: list[Practice] | None = None,
) -> TuneBelief:  # fmt: skip
    """Belief of a tune from its whole history and what comes to it now."""
    kept = session.repertoire
    every = [*kept.checks.all(tune), *(checks or ())]
    entries = [*kept.practices.all(tune), *(practices or ())]
    return replayed([session.tune(tune)], every, entries, session.params)[tune]


def _keep(session: Session, tune: str, belief: TuneBelief) -> None:
    session.repertoire.beliefs.save(
        {tune: belief.to_bytes()}, parameters_version=session.params_version
    )


def around(first_day: date, last_day: date) -> tuple[datetime, datetime]:
    """Return moments between which lies all that belongs to some practice days.

    A practice day may begin a day earlier in UTC and end a day later, and its end may have been
    moved since.
    """
    begin = datetime.combine(first_day, time(), tzinfo=UTC)
    end = datetime.combine(last_day, time(), tzinfo=UTC)
    return begin - timedelta(days=1), end + timedelta(days=3)


def checks_between(session: Session, first_day: date, last_day: date) -> list[Check]:
    """Return the checks of some practice days, in order."""
    found = session.repertoire.checks.all(None, *around(first_day, last_day))
    return [check for check in found if first_day <= check.day <= last_day]


GAP_DAYS = 21
"""More days than this without a check is time away (common practice, no source)."""

RETURN_DAYS = 60
"""Days after the return during which tunes not yet met again are brought surest first."""


def returned_on(days: Sequence[int], today: int) -> int | None:
    """Return the day ordinal on which the player came back, or ``None`` when not coming back.

    Args:
        days: Ordinals of the practice days with checks, ascending, none after ``today``.
        today: Ordinal of the present practice day; a return today has no checks yet.
    """
    earlier = [day for day in days if day < today]
    if not earlier:
        return None
    if today - earlier[-1] > GAP_DAYS:
        return today
    for before, back in zip(reversed(earlier[:-1]), reversed(earlier[1:]), strict=True):
        if today - back > RETURN_DAYS:
            return None
        if back - before > GAP_DAYS:
            return back
    return None


def returned(session: Session) -> float | None:
    """Model day of the player's return from time away, or ``None``."""
    days = _practice_days(session)
    back = returned_on(days, session.day().toordinal())
    if back is None:
        return None
    return to_days(datetime.combine(date.fromordinal(back), time(), tzinfo=UTC))


def not_lost_by_time(chance: Chance, back: float | None) -> Chance:
    """Return a chance that is not called lost for time alone.

    After time away a tune not met since is unknown rather than lost, and comes back sooner than
    it was learned: it is called rusty until it was asked. Its figures stay as they are.

    Args:
        chance: Of a tune or strand.
        back: The day of the return (``returned``).
    """
    if chance.state is not State.LOST or back is None or chance.last_checked is None:
        return chance
    met_since = to_days(chance.last_checked) >= back
    return chance if met_since else replace(chance, state=State.RUSTY)


def _days_before(session: Session) -> list[int]:
    """Ordinals of the practice days that a return from time away shows by; today's is no part."""
    since = session.now() - timedelta(days=RETURN_DAYS + 1)
    return [past.toordinal() for past in session.repertoire.sittings.practice_days(since)]


HOW = 0
WHAT = 1
"""Columns of the two prompts wherever an array has one place for each."""


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds this player needs for one check of each prompt, question to level.

    The defaults are the 10 to 15 seconds a start takes (common practice, no source).
    """

    how: float = 15.0
    what: float = 11.0

    def of(self, prompt: int) -> float:
        """Seconds for ``HOW`` or ``WHAT``."""
        return self.how if prompt == HOW else self.what


_PRIOR_CHECKS = 20
_LONGEST_SECONDS = 90.0
_SHORTEST_SECONDS = 3.0


def measured_pace(how_seconds: Sequence[float], what_seconds: Sequence[float]) -> Pace:
    """Return the player's pace from measured seconds, level key to level key, newest only.

    The median is drawn towards the default as long as there are few checks, so that one slow
    evening does not shrink tomorrow's round. Longer than a minute and a half, the player was
    called away; such a check counts as that long.
    """
    default = Pace()
    return Pace(_drawn(how_seconds, default.how), _drawn(what_seconds, default.what))


def _drawn(seconds: Sequence[float], default: float) -> float:
    if not seconds:
        return default
    middle = median(min(max(s, _SHORTEST_SECONDS), _LONGEST_SECONDS) for s in seconds)
    weight = len(seconds) / (len(seconds) + _PRIOR_CHECKS)
    return weight * middle + (1.0 - weight) * default


PACE_CHECKS = 200
"""Newest checks from which the player's pace is measured."""


def prompts_in(session: Session, pace: Pace) -> int:
    """Return how many prompts the first round holds at this player's pace, at least 1."""
    return max(1, round(session.settings.minutes_first * 60 / pace.how))


def pace_of(session: Session) -> Pace:
    """Return the player's pace, measured from one rating of a round to the next."""
    newest = session.repertoire.checks.recent(PACE_CHECKS)
    seconds: dict[Prompt, list[float]] = {prompt: [] for prompt in Prompt}
    for check, before in pairwise(newest):
        if check.round_uuid and check.round_uuid == before.round_uuid:
            seconds[check.prompt].append((check.at - before.at).total_seconds())
    return measured_pace(seconds[Prompt.HOW], seconds[Prompt.WHAT])


def whole_history(session: Session) -> tuple[list[Tune], list[list[Event]]]:
    """Return every tune and what happened to it, oldest first."""
    tunes = list(session.tunes.values())
    kept = session.repertoire
    return tunes, histories_of(tunes, kept.checks.all(), kept.practices.all())


def entry_of(tune: Tune) -> Entry:
    """Return ``tune`` as it came in."""
    added = datetime.combine(tune.added, time(12), tzinfo=UTC)
    return Entry(columns_of(tune), tune.declared, to_days(added))


_practice_days = Memo(_days_before, About.CHECKS | About.PRACTICE, daily=True)
