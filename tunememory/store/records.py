"""What a repertoire file holds beside tunes, checks and practice, as the program speaks of it."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from tunememory.music.strings import Tuning
    from tunememory.recall.check import RoundKind


def new_identity() -> str:
    """Return a random identity (RFC 9562 version 4)."""
    return str(uuid.uuid4())


@dataclass(frozen=True, slots=True)
class ImportedRow:
    """Where in a book a tune came from.

    Attributes:
        tune: Identity of the tune.
        book: Name of the book.
        reference: Reference number in the book (ABC ``X:``), as text.
        folded: Title in the book as ``fold_title`` gives it.
        raw: Text of the tune in the book, just as it was: clean it before it is shown.
        hash: Digest of the text, by which an unchanged tune is known.
        removed: Whether the player has removed the tune since (not kept by ``save``).
    """

    tune: str
    book: str
    reference: str
    folded: str
    raw: str
    hash: str
    removed: bool = False


@dataclass(frozen=True, slots=True)
class TwinRow:
    """Two starts that begin alike, seen from the first.

    Attributes:
        tune: Identity of a tune.
        part: Its part.
        other: Identity of the twin.
        other_part: The twin's part.
        distance: 0 for the same notes.
        parts_at: 1-based number of the note of ``part`` where they part, 0 if they do not.
    """

    tune: str
    part: str
    other: str
    other_part: str
    distance: float
    parts_at: int


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


@dataclass(frozen=True, slots=True)
class Round:
    """A run of checks.

    Attributes:
        uuid: Random identity.
        kind: First, last or loose.
        day: Practice day.
        begun_at: Aware, UTC.
        minutes: Minutes it was planned for.
        tuning: The tuning it was played in; ``None`` is the player's usual one.
        ended_at: ``None`` while it goes on, or when it was left.
    """

    uuid: str
    kind: RoundKind
    day: date
    begun_at: datetime
    minutes: float
    tuning: Tuning | None = None
    ended_at: datetime | None = None


class At(StrEnum):
    """Step of a sitting the player has come to."""

    FIRST = "first"
    PRACTICE = "practice"
    LAST = "last"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Sitting:
    """A day's sitting.

    Attributes:
        day: Practice day.
        step: Where it stands.
        head_only: Without the instrument.
        stopped: Ended because of pain.
        closed_at: When the day was closed, aware, UTC; ``None`` while it is open.
    """

    day: date
    step: At = At.FIRST
    head_only: bool = False
    stopped: bool = False
    closed_at: datetime | None = None

    @property
    def closed(self) -> bool:
        """Whether the day was closed."""
        return self.closed_at is not None


@dataclass(frozen=True, slots=True)
class ParameterSet:
    """Parameters of the memory model, as fitted once.

    Attributes:
        uuid: Random identity.
        made_at: When they were fitted, aware, UTC.
        numbers: The parameters, as JSON text.
        evidence: What they rest on (how many checks, how well they predict), as JSON text.
        active: Whether they are in use; at most one set is.
        version: Number of the set in this file, from 1; 0 until it is kept.
    """

    uuid: str
    made_at: datetime
    numbers: str
    evidence: str
    active: bool = True
    version: int = 0
