"""The first screen: what the day begins with."""

from __future__ import annotations

from heapq import nsmallest
from typing import TYPE_CHECKING

import numpy as np

from tunememory.service import sitting, working
from tunememory.service.chances import FADING, RUSTY, SAFE, opening_chances, strand_name, weakest
from tunememory.service.joins import joined_tunes
from tunememory.service.overview import ASKED_OF, drawn_now
from tunememory.service.prompts import note_of
from tunememory.service.rounds import chosen, moment
from tunememory.service.steps import steps_of
from tunememory.service.today_view import Coming, Fades, TodayView, TuneMark
from tunememory.service.views import State
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    from collections.abc import Collection

    from tunememory.service.chances import Picture
    from tunememory.service.open_file import OpenFile

FADING_SHOWN = 8
"""Fading tunes handed to the first screen."""

DATES_SHOWN = 3
"""Dates handed to the first screen."""

PLACES = 10_000
"""Parts of the whole to which the picture of all tunes is exact; the lines that part the states
fall on them, so cutting off moves no tune into another state."""


def today(desk: OpenFile) -> TodayView:
    """Return the first screen."""
    at = moment(desk)
    first = chosen(desk, at, RoundKind.FIRST)
    drawn = drawn_now(desk)
    tunes = _marks(desk, drawn)
    hidden = {uuid for pick in first.picks for uuid in joined_tunes(at.now.uuids[pick.place])}
    now = sitting.current(desk)
    earlier = desk.repertoire.last_pick_up(at.day)
    return TodayView(
        day=at.day,
        tuning=first.tuning,
        steps=steps_of(desk, at, first),
        fading=_fading(desk, drawn, hidden),
        tunes=tunes,
        counts=_counts(tunes),
        note=note_of(desk, first, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
        at=now.step,
        closed=now.closed_at is not None,
        pick_up=earlier[1] if earlier else "",
        pick_up_day=earlier[0] if earlier else None,
        practice=working.count(desk),
        coming=_coming(desk),
        practised=any(not entry.played_at for entry in at.practised),
        head_only=now.head_only,
    )


def _marks(desk: OpenFile, drawn: Picture) -> tuple[TuneMark, ...]:
    chances = np.floor(opening_chances(drawn) * PLACES) / PLACES
    askable = drawn.asked & (drawn.opening >= 0)
    return tuple(
        TuneMark(tune.key.root if tune.key else "", chance, asked)
        for tune, chance, asked in zip(
            desk.tunes.values(), chances.tolist(), askable.tolist(), strict=True
        )
        if tune.status in ASKED_OF
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


def _fading(desk: OpenFile, drawn: Picture, hidden: Collection[str]) -> tuple[Fades, ...]:
    """The weakest strands of tunes that are safe no more, those the round will ask left out."""
    columns = weakest(drawn, names=False)
    found = []
    for place, tune in enumerate(desk.tunes.values()):
        column = columns[place]
        if column < 0 or not drawn.asked[place] or tune.status not in ASKED_OF:
            continue
        chance = float(drawn.chance[place, column])
        if chance < SAFE and tune.uuid not in hidden:
            found.append((chance, tune.title, tune.uuid, column))
    return tuple(
        Fades(title, strand_name(column), chance)
        for chance, title, _, column in nsmallest(FADING_SHOWN, found)
    )


def _coming(desk: OpenFile) -> tuple[Coming, ...]:
    if not desk.dates:
        return ()
    from tunememory.service import dates  # noqa: PLC0415 - a player without dates loads none of it

    return tuple(
        Coming(view.title, view.on, view.days, view.wanted, view.ready)
        for view in dates.next_ones(desk, DATES_SHOWN)
        if view.on is not None and view.days is not None
    )
