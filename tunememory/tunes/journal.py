"""What a practice day leaves behind: what was worked on, and what was heard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class Practice:
    """Something that was worked on, or played at a date.

    Attributes:
        uuid: Random identity.
        at: When it ended, aware, UTC.
        day: Practice day.
        minutes: How long, 0 or more; 0 where nobody looked at the clock.
        tune: Identity of the tune, empty for work on no tune.
        way: Id of the way (``ways.registry``), empty for none of them.
        words: What was done, in the player's words.
        head_only: Without the instrument: hummed or thought.
        played_at: Identity of the date it was played at, empty for practice.
    """

    uuid: str
    at: datetime
    day: date
    minutes: float = 0.0
    tune: str = ""
    way: str = ""
    words: str = ""
    head_only: bool = False
    played_at: str = ""


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
