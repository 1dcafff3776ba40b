"""Dates to be ready for, and days off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

DATE_KINDS = ("session", "jam", "dance", "lesson", "gig", "festival")
"""Offered; the list is open."""


@dataclass(frozen=True, slots=True)
class Date:
    """Something to be ready for: on one day, or again and again.

    Attributes:
        uuid: Random identity.
        title: As the player calls it.
        first_day: The day, or the day from which the rule counts.
        kind: ``"session"``, ``"dance"`` …: an open list, may be empty.
        place: Where, in words.
        rule: Recurrence as the value of an RFC 5545 ``RRULE``; empty for one day.
        except_days: Days of the rule on which it does not take place, ascending.
        tunes: Identities of the tunes wanted there.
        sets: Identities of the sets wanted there.
        weeks_before: A season: its tunes wake so many weeks before each day and rest after it;
            0 for none.
    """

    uuid: str
    title: str
    first_day: date
    kind: str = ""
    place: str = ""
    rule: str = ""
    except_days: tuple[date, ...] = ()
    tunes: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    weeks_before: int = 0


@dataclass(frozen=True, slots=True)
class DayOff:
    """Days on which nothing is asked and nothing is missed: a weekly rest day, a holiday.

    Attributes:
        uuid: Random identity.
        first_day: First day off.
        last_day: Last day off of a stretch; the same as the first where a rule is given.
        rule: Recurrence as for ``Date``; empty for one stretch.
        note: Why, if the player says.
    """

    uuid: str
    first_day: date
    last_day: date
    rule: str = ""
    note: str = ""
