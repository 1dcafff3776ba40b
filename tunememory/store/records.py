"""Dates to be ready for, and days off."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from enum import StrEnum
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


@dataclass(frozen=True, slots=True)
class Heard:
    """A tune heard in company.

    Attributes:
        uuid: Random identity.
        day: Practice day on which it was heard.
        name: Empty for "no name yet".
        from_whom: Who played it.
        alike: What it was like, in words.
        note: Anything else: where the recording is, how it began.
        tune: Identity of the tune it turned out to be, or empty.
    """

    uuid: str
    day: date
    name: str = ""
    from_whom: str = ""
    alike: str = ""
    note: str = ""
    tune: str = ""


class At(StrEnum):
    """Step of a sitting the player has come to."""

    FIRST = "first"
    PRACTICE = "practice"
    LAST = "last"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class TuneSet:
    """A set, or medley.

    Attributes:
        uuid: Random identity.
        name: As the player calls it; may be empty.
        tunes: Identities of its tunes, in order; one may come twice.
    """

    uuid: str
    name: str
    tunes: tuple[str, ...] = ()


def new_identity() -> str:
    """Return a random identity (RFC 9562 version 4)."""
    return str(uuid.uuid4())
