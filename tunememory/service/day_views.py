"""What a front end is given of practice days. Frozen data, plain text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from tunememory.service.today_view import Step
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
