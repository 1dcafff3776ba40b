"""What a front end is given of dates and sets. Frozen data, plain text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from tunememory.planning.readiness import Readiness
    from tunememory.tunes.check import Level


@dataclass(frozen=True, slots=True)
class SetTune:
    """A tune of a set, with its chance of being started now."""

    tune: str
    title: str
    key: str
    tuning: str
    chance: float


@dataclass(frozen=True, slots=True)
class JoinView:
    """From one tune of a set into the next.

    Attributes:
        chance: That it comes now; ``None`` when it was never asked.
        asked: The days on which it was asked and how it came, newest first.
    """

    first: str
    second: str
    chance: float | None
    asked: tuple[tuple[date, Level], ...] = ()


@dataclass(frozen=True, slots=True)
class SetView:
    """A set.

    Attributes:
        name: As the player calls it, else made of its titles.
        joins: One fewer than tunes.
        chance: Of its weakest tune or join.
        ready: Every tune and every join is ready.
        weakest: What holds it back, in words; empty when it is ready.
    """

    uuid: str
    name: str
    tunes: tuple[SetTune, ...]
    joins: tuple[JoinView, ...]
    chance: float
    ready: bool
    weakest: str


@dataclass(frozen=True, slots=True)
class DateTune:
    """A tune wanted at a date.

    Attributes:
        chance: Of starting it now.
        untouched: On the day if nothing is done.
        kept: On the day if the plan is kept.
        played: When it was last played there.
    """

    tune: str
    title: str
    key: str
    tuning: str
    chance: float
    untouched: float
    kept: float
    readiness: Readiness
    played: date | None


@dataclass(frozen=True, slots=True)
class DateView:
    """A date and how ready it finds the player.

    Attributes:
        when: In words.
        on: Its next day, ``None`` when it is over.
        days: Days until then.
        wanted: How many tunes, those of its sets included.
        ready: How many are ready as it is.
        will_be: How many more will be if the plan is kept.
        tunes: Not yet ready ones first; only where one date is looked at.
        leave_out: Titles to leave out if under half can be ready.
        sets: Names of its sets.
    """

    uuid: str
    title: str
    kind: str
    place: str
    when: str
    on: date | None
    days: int | None
    wanted: int
    ready: int
    will_be: int
    sets: tuple[str, ...]
    tunes: tuple[DateTune, ...] = ()
    leave_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DateDraft:
    """A date as typed; ``tunes`` and ``sets`` are identities."""

    when: str = ""
    title: str = ""
    kind: str = ""
    place: str = ""
    tunes: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    weeks_before: int = 0


@dataclass(frozen=True, slots=True)
class PastDate:
    """A date that has been; ``tunes`` are ``(identity, title, played there)``."""

    uuid: str
    title: str
    on: date
    tunes: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True, slots=True)
class DayOffView:
    """Days off, ``when`` in words."""

    uuid: str
    when: str
    note: str


@dataclass(frozen=True, slots=True)
class DatesTaken:
    """What came of a calendar; ``left_out`` are ``(line, why)`` pairs."""

    taken: int
    changed: int
    unchanged: int
    left_out: tuple[tuple[int, str], ...]
