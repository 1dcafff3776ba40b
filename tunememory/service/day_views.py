"""What a front end is given of practice days, dates and sets. Frozen data, plain text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from tunememory.planning.readiness import Readiness
    from tunememory.service.today_view import Step
    from tunememory.tunes.check import Level
    from tunememory.tunes.sitting import At


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


@dataclass(frozen=True, slots=True)
class SittingView:
    """Where today's sitting stands.

    Attributes:
        at: The step the player has come to.
        steps: First and last round.
        head_only: Without the instrument.
        stopped: Ended because of pain.
        closed: The day was closed.
        pick_up: The last pick-up line of an earlier day, empty for none.
        pick_up_day: Its day.
        own_pick_up: Today's, for the next time.
        minutes: Of today.
        asks_minutes: The player was away for long: ask how many minutes first.
        off: A day off.
        eve: A date is tomorrow: a day for the head.
    """

    day: date
    at: At
    steps: tuple[Step, ...]
    head_only: bool
    stopped: bool
    closed: bool
    pick_up: str
    pick_up_day: date | None
    own_pick_up: str
    minutes: Minutes
    asks_minutes: bool
    off: bool
    eve: bool


@dataclass(frozen=True, slots=True)
class WayView:
    """A way of working on one tune.

    Attributes:
        possible: There is material for this tune.
        caution: Why not, or what is to be minded.
        done: Days on which it was done, oldest first.
        next: It is the one to offer now.
    """

    id: str
    name: str
    purpose: str
    possible: bool
    caution: str
    done: tuple[date, ...]
    next: bool


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """Something practised or played.

    Attributes:
        tune: Identity, empty for work on no tune.
        title: Of the tune, empty for none.
        way: Id of the way, empty for none.
        way_name: Its name.
        played_at: Title of the date it was played at, empty for practice.
    """

    uuid: str
    day: date
    at: datetime
    tune: str
    title: str
    way: str
    way_name: str
    words: str
    minutes: float
    head_only: bool
    played_at: str


@dataclass(frozen=True, slots=True)
class HeardView:
    """A tune heard in company; ``title`` is that of the tune it turned out to be."""

    uuid: str
    day: date
    name: str
    from_whom: str
    alike: str
    note: str
    tune: str
    title: str


@dataclass(frozen=True, slots=True)
class JournalDay:
    """All of one day.

    Attributes:
        asked: How many prompts were answered.
        would_not_come: Titles with a level below 3 in a cold check, each once.
    """

    day: date
    minutes: Minutes
    asked: int
    would_not_come: tuple[str, ...]
    entries: tuple[JournalEntry, ...]
    heard: tuple[HeardView, ...]
    pick_up: str


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """A day of the calendar; ``dates`` are the titles of what takes place."""

    day: date
    minutes: float
    asked: int
    off: bool
    dates: tuple[str, ...]


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


@dataclass(frozen=True, slots=True)
class StarterView:
    """A tune to start.

    Attributes:
        sure: A sure starter.
        played_here: When it was last played at the place meant.
        lately: That was lately.
        first: Its first notes in letters.
    """

    tune: str
    title: str
    kind: str
    key: str
    tuning: str
    chance: float
    sure: bool
    played_here: date | None
    lately: bool
    first: str
