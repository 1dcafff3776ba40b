"""Today, the tune list and what is fading."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.chances import Picture, chance_at, picture, strand_name, weakest
from tunememory.service.rounds import plan, steps_of_today
from tunememory.service.views import FadingRow, State, TodayView, TuneRow
from tunememory.tunes.check import RoundKind
from tunememory.tunes.text import ARTICLES, fold
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.tune import Tune

FADING_SHOWN = 8
"""Fading tunes handed to the first screen."""


def today(desk: OpenFile) -> TodayView:
    """Return the first screen."""
    planned = plan(desk, RoundKind.FIRST)
    lines = tuple(row for row in rows(desk) if row.status in {Status.KEPT, Status.LEARNING})
    hidden = {asked.tune.uuid for asked in planned.asked}
    counts = dict.fromkeys(State, 0)
    for line in lines:
        counts[line.chance.state] += 1
    weak = [
        row
        for row in fading(desk)
        if row.tune not in hidden and row.chance.state not in {State.SAFE, State.NOT_ASKED}
    ]
    return TodayView(
        day=desk.day(),
        tuning=planned.tuning,
        steps=steps_of_today(desk, planned),
        fading=tuple(weak[:FADING_SHOWN]),
        tunes=lines,
        counts=tuple((state, number) for state, number in counts.items() if number),
        note=planned.note,
        coming_back=planned.coming_back,
    )


def rows(desk: OpenFile) -> tuple[TuneRow, ...]:
    """Return every tune as a line of the tune list, in title order, nameless ones last."""
    drawn = _drawn(desk, 0)
    lines = (_row(desk, tune, drawn, place) for place, tune in enumerate(desk.tunes.values()))
    return tuple(sorted(lines, key=_title_place))


def row_of(desk: OpenFile, uuid: str) -> TuneRow:
    """Return one tune as a line of the tune list."""
    places = {tune: place for place, tune in enumerate(desk.tunes)}
    return _row(desk, desk.tune(uuid), _drawn(desk, 0), places[uuid])


def fading(desk: OpenFile, days_ahead: int = 0) -> tuple[FadingRow, ...]:
    """Return the weakest strand of every kept or learning tune, lowest chance first.

    Args:
        desk: The open repertoire.
        days_ahead: Look at the chances this many days from now, nothing being asked till then.
    """
    drawn = _drawn(desk, days_ahead)
    found: list[FadingRow] = []
    for place, tune in enumerate(desk.tunes.values()):
        if tune.status not in {Status.KEPT, Status.LEARNING}:
            continue
        column = weakest(drawn, place)
        if column < 0:
            continue
        found.append(
            FadingRow(
                tune=tune.uuid,
                title=tune.title,
                key=tune.key.short if tune.key else "",
                strand=strand_name(column),
                chance=chance_at(drawn, place, column, desk.last_met.get(tune.uuid)),
            )
        )
    return tuple(sorted(found, key=lambda row: (row.chance.chance, row.title, row.tune)))


def _title_place(row: TuneRow) -> tuple[bool, str, str]:
    first, _, rest = row.folded.partition(" ")
    return not row.folded, rest if rest and first in ARTICLES else row.folded, row.uuid


def _drawn(desk: OpenFile, days_ahead: int) -> Picture:
    return picture(desk.remembered.all(), desk.now_days() + days_ahead, desk.params)


def _row(desk: OpenFile, tune: Tune, drawn: Picture, place: int) -> TuneRow:
    column = int(drawn.opening[place])
    return TuneRow(
        uuid=tune.uuid,
        title=tune.title,
        other_titles=tune.titles[1:],
        kind=tune.kind,
        key=tune.key.short if tune.key else "",
        tuning=(tune.tuning or desk.settings.usual).letters,
        status=tune.status,
        chance=chance_at(drawn, place, column, desk.last_met.get(tune.uuid)),
        folded=" ".join(fold(title) for title in tune.titles),
    )
