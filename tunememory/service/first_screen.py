"""The first screen: what the day begins with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service import sitting, working
from tunememory.service.joins import joined_tunes
from tunememory.service.overview import ASKED_OF, drawn_now, row_of, weakest_rows
from tunememory.service.prompts import note_of
from tunememory.service.rounds import chosen, moment
from tunememory.service.steps import steps_of
from tunememory.service.views import State, TodayView
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    from tunememory.service.day_views import DateView
    from tunememory.service.open_file import OpenFile

FADING_SHOWN = 8
"""Fading tunes handed to the first screen."""

DATES_SHOWN = 3
"""Dates handed to the first screen."""


def today(desk: OpenFile) -> TodayView:
    """Return the first screen."""
    at = moment(desk)
    first = chosen(desk, at, RoundKind.FIRST)
    drawn = drawn_now(desk)
    lines = tuple(
        row_of(desk, tune, drawn, place)
        for place, tune in enumerate(desk.tunes.values())
        if tune.status in ASKED_OF
    )
    hidden = {uuid for pick in first.picks for uuid in joined_tunes(at.now.uuids[pick.place])}
    counts = dict.fromkeys(State, 0)
    for line in lines:
        counts[line.chance.state] += 1
    weak = [
        row
        for row in weakest_rows(desk, drawn, names=False)
        if row.tune not in hidden and row.chance.state not in {State.SAFE, State.NOT_ASKED}
    ]
    now = sitting.current(desk)
    earlier = desk.repertoire.last_pick_up(at.day)
    return TodayView(
        day=at.day,
        tuning=first.tuning,
        steps=steps_of(desk, at, first),
        fading=tuple(weak[:FADING_SHOWN]),
        tunes=lines,
        counts=tuple((state, number) for state, number in counts.items() if number),
        note=note_of(desk, first, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
        at=now.step,
        closed=now.closed_at is not None,
        pick_up=earlier[1] if earlier else "",
        pick_up_day=earlier[0] if earlier else None,
        practice=working.count(desk),
        coming=_coming(desk),
    )


def _coming(desk: OpenFile) -> tuple[DateView, ...]:
    if not desk.dates:
        return ()
    from tunememory.service import dates  # noqa: PLC0415 - a player without dates loads none of it

    return dates.next_ones(desk, DATES_SHOWN)
