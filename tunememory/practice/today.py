"""The first screen: what the day begins with."""

from __future__ import annotations

from heapq import nsmallest
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tunememory.dates.agenda import dates_of
from tunememory.history import joined_tunes
from tunememory.library.overview import chances_now
from tunememory.practice import work_list
from tunememory.practice.sitting import RoundToday, rounds_today
from tunememory.recall.chances import strand_name, weakest
from tunememory.recall.check import RoundKind
from tunememory.recall.state import FADING, RUSTY, SAFE, State
from tunememory.rounds import running
from tunememory.rounds.planning import RoundWish, chosen, moment, note_of

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from tunememory.dates.readiness import DateView
    from tunememory.recall.chances import Chances
    from tunememory.session import Session
    from tunememory.store.records import Sitting


class Fades(NamedTuple):
    """A tune's weakest strand, with its chance now, 0 to 1."""

    title: str
    strand: str
    chance: float


class TuneMark(NamedTuple):
    """A tune as the picture of the whole repertoire shows it.

    Attributes:
        root: Of its key, empty where there is none.
        chance: Of starting it now, 0 to 1.
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
        sitting: Today's: the step the player has come to, and how it is held.
        pick_up: The last pick-up line of an earlier day, empty for none.
        pick_up_day: Its day.
        practice: How many tunes the work-list holds.
        coming: The next dates, soonest first.
        practised: Something was practised today.
    """

    day: date
    tuning: str
    steps: tuple[RoundToday, ...]
    fading: tuple[Fades, ...]
    tunes: tuple[TuneMark, ...]
    counts: tuple[tuple[str, int], ...]
    note: str
    coming_back: bool
    sitting: Sitting
    pick_up: str
    pick_up_day: date | None
    practice: int
    coming: tuple[DateView, ...]
    practised: bool


FADING_SHOWN = 8
"""Fading tunes handed to the first screen."""

DATES_SHOWN = 3
"""Dates handed to the first screen."""


def today_view(session: Session) -> TodayView:
    """Return the first screen."""
    at = moment(session)
    first = chosen(session, at, RoundWish(RoundKind.FIRST))
    chances = chances_now(session)
    tunes = _marks(session, chances)
    hidden = {
        uuid for pick in first.picks for uuid in joined_tunes(at.candidates.uuids[pick.place])
    }
    earlier = session.repertoire.pick_ups.last(at.day)
    return TodayView(
        day=at.day,
        tuning=first.tuning,
        steps=rounds_today(session, at, first),
        fading=_fading(session, chances, hidden),
        tunes=tunes,
        counts=_counts(tunes),
        note=note_of(session, first, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
        sitting=running.sitting_of(session),
        pick_up=earlier[1] if earlier else "",
        pick_up_day=earlier[0] if earlier else None,
        practice=work_list.count(session),
        coming=_coming(session),
        practised=any(not entry.played_at for entry in at.practised),
    )


def _marks(session: Session, chances: Chances) -> tuple[TuneMark, ...]:
    askable = chances.asked & (chances.opening >= 0)
    return tuple(
        TuneMark(tune.key.root if tune.key else "", chance, asked)
        for tune, chance, asked in zip(
            session.tunes.values(), chances.starting.tolist(), askable.tolist(), strict=True
        )
        if tune.status.asked_for
    )


def _counts(tunes: tuple[TuneMark, ...]) -> tuple[tuple[str, int], ...]:
    """How many tunes are in each state, those without any left out."""
    asked = [tune.chance for tune in tunes if tune.asked]
    spaces = np.searchsorted((RUSTY, FADING, SAFE), asked, side="right")
    lost, rusty, fading, safe = np.bincount(spaces, minlength=4).tolist()
    counts = {
        State.SAFE: safe,
        State.FADING: fading,
        State.RUSTY: rusty,
        State.LOST: lost,
        State.NOT_ASKED: len(tunes) - len(asked),
    }
    return tuple((state.value, number) for state, number in counts.items() if number)


def _fading(session: Session, chances: Chances, hidden: Collection[str]) -> tuple[Fades, ...]:
    """The weakest strands of tunes that are safe no more, those the round will ask left out."""
    columns = weakest(chances, names=False)
    found = []
    for place, tune in enumerate(session.tunes.values()):
        column = columns[place]
        if column < 0 or not chances.asked[place] or not tune.status.asked_for:
            continue
        chance = float(chances.chance[place, column])
        if chance < SAFE and tune.uuid not in hidden:
            found.append((chance, tune.title, tune.uuid, column))
    return tuple(
        Fades(title, strand_name(column), chance)
        for chance, title, _, column in nsmallest(FADING_SHOWN, found)
    )


def _coming(session: Session) -> tuple[DateView, ...]:
    if not dates_of(session):
        return ()
    from tunememory.dates.readiness import next_ones  # noqa: PLC0415 - where there are dates

    return next_ones(session, DATES_SHOWN)
