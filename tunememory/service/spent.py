"""Minutes spent, by day."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory.service.day_views import Minutes

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.check import Check
    from tunememory.tunes.journal import Practice

LONGEST_GAP = 90.0
"""Seconds from one rating to the next that count at most: longer, and the player was away."""


def around(first_day: date, last_day: date) -> tuple[datetime, datetime]:
    """Return moments between which lies all that belongs to some practice days.

    A practice day may begin a day earlier in UTC and end a day later, and its end may have been
    moved since.
    """
    begin = datetime.combine(first_day, time(), tzinfo=UTC)
    end = datetime.combine(last_day, time(), tzinfo=UTC)
    return begin - timedelta(days=1), end + timedelta(days=3)


def checks_between(desk: OpenFile, first_day: date, last_day: date) -> list[Check]:
    """Return the checks of some practice days, in order."""
    found = desk.repertoire.checks(None, *around(first_day, last_day))
    return [check for check in found if first_day <= check.day <= last_day]


def minutes_of_day(
    desk: OpenFile, day: date, checks: Iterable[Check], practices: Iterable[Practice]
) -> Minutes:
    """Return the minutes of one day.

    Args:
        desk: The open repertoire.
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
    for begun in desk.repertoire.rounds(day):
        moments[begun.uuid].append(begun.begun_at)
    for check in checks:
        if check.round_uuid:
            moments[check.round_uuid].append(check.at)
    seconds = sum(
        min((later - earlier).total_seconds(), LONGEST_GAP)
        for of_round in moments.values()
        for earlier, later in pairwise(of_round)
    )
    return Minutes(instrument, head, seconds / 60)
