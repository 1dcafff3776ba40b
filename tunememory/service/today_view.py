"""What the first screen is given to show. Plain text and numbers, no behaviour.

Named tuples where other views are dataclasses: these few are made at every start of the program,
and a class of this kind is made in a seventh of the time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.tunes.sitting import At

if TYPE_CHECKING:
    from datetime import date

    from tunememory.tunes.check import RoundKind


class RoundWish(NamedTuple):
    """A round as it is asked for; what is left out the plan decides. Fields as ``Desk.plan``."""

    kind: RoundKind
    minutes: float | None = None
    tuning: str | None = None
    only_kind: str | None = None


class Step(NamedTuple):
    """One of the rounds of a sitting.

    Attributes:
        minutes: What asking ``prompts`` takes.
        prompts: How many would be asked now: of a round that was left, what is left.
        done: It was asked to its end today.
        asked: How many were asked today.
    """

    kind: RoundKind
    minutes: float
    prompts: int
    done: bool
    asked: int = 0


class Fades(NamedTuple):
    """A tune's weakest strand, with its chance now, 0 to 1."""

    title: str
    strand: str
    chance: float


class Coming(NamedTuple):
    """A date that comes.

    Attributes:
        title: What it is.
        on: Its next day.
        days: Days until then.
        wanted: How many tunes, those of its sets included.
        ready: How many are ready as it is.
    """

    title: str
    on: date
    days: int
    wanted: int
    ready: int


class TuneMark(NamedTuple):
    """A tune as the picture of the whole repertoire shows it.

    Attributes:
        root: Of its key, empty where there is none.
        chance: Of starting it now, 0 to 1, cut off after the fourth place.
        asked: Whether it was ever asked.
    """

    root: str
    chance: float
    asked: bool


class TodayView(NamedTuple):
    """The first screen.

    Attributes:
        day: Practice day.
        tuning: Of the first round.
        steps: First and last round.
        fading: What fades, the weakest first.
        tunes: Every kept or learning tune, in the order they came in.
        counts: How many tunes are in each state, by its name.
        note: The one line that goes with the plan, mostly empty.
        coming_back: The player was away for long.
        at: The step of the sitting the player has come to.
        closed: The day was closed.
        pick_up: The last pick-up line of an earlier day, empty for none.
        pick_up_day: Its day.
        practice: How many tunes the work-list holds.
        coming: The next dates, soonest first.
        practised: Something was practised today.
        head_only: Today's sitting is held without the instrument.
    """

    day: date
    tuning: str
    steps: tuple[Step, ...]
    fading: tuple[Fades, ...]
    tunes: tuple[TuneMark, ...]
    counts: tuple[tuple[str, int], ...]
    note: str
    coming_back: bool
    at: At = At.FIRST
    closed: bool = False
    pick_up: str = ""
    pick_up_day: date | None = None
    practice: int = 0
    coming: tuple[Coming, ...] = ()
    practised: bool = False
    head_only: bool = False
