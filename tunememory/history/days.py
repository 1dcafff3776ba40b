"""The days behind: their checks, the player's pace, time away."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from tunememory.clock import to_days
from tunememory.recall.belief import Entry
from tunememory.recall.check import Prompt
from tunememory.recall.replay import histories_of
from tunememory.recall.state import State
from tunememory.recall.table import columns_of
from tunememory.session import About, Memo

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.music.tune import Tune
    from tunememory.recall.check import Check
    from tunememory.recall.state import Chance
    from tunememory.recall.update import Event
    from tunememory.session import Session


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
    for before, after in zip(reversed(earlier[:-1]), reversed(earlier[1:]), strict=True):
        if today - after > RETURN_DAYS:
            return None
        if after - before > GAP_DAYS:
            return after
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
