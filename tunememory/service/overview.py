"""Today, the tune list and what is fading."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.service.chances import Picture, chance_at, picture, strand_name, weakest
from tunememory.service.joins import joined_tunes
from tunememory.service.prompts import note_of
from tunememory.service.rounds import chosen, minutes_of, moment
from tunememory.service.views import FadingRow, State, Step, TodayView, TuneRow
from tunememory.tunes.check import RoundKind
from tunememory.tunes.text import ARTICLES, fold
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.planning.rounds import Plan
    from tunememory.service.open_file import OpenFile
    from tunememory.service.rounds import Moment
    from tunememory.tunes.tune import Tune

ASKED_OF = frozenset({Status.KEPT, Status.LEARNING})
"""Tunes that are asked for; wanted and resting ones are left in peace."""

FADING_SHOWN = 8
"""Fading tunes handed to the first screen."""


def today(desk: OpenFile) -> TodayView:
    """Return the first screen."""
    at = moment(desk)
    first = chosen(desk, at, RoundKind.FIRST)
    drawn = _drawn(desk, 0)
    lines = tuple(
        _row(desk, tune, drawn, place)
        for place, tune in enumerate(desk.tunes.values())
        if tune.status in ASKED_OF
    )
    hidden = {uuid for pick in first.picks for uuid in joined_tunes(at.now.uuids[pick.place])}
    counts = dict.fromkeys(State, 0)
    for line in lines:
        counts[line.chance.state] += 1
    weak = [
        row
        for row in _weakest(desk, drawn)
        if row.tune not in hidden and row.chance.state not in {State.SAFE, State.NOT_ASKED}
    ]
    return TodayView(
        day=at.day,
        tuning=first.tuning,
        steps=_steps(desk, at, first),
        fading=tuple(weak[:FADING_SHOWN]),
        tunes=lines,
        counts=tuple((state, number) for state, number in counts.items() if number),
        note=note_of(desk, first, coming_back=at.returned is not None),
        coming_back=at.returned is not None,
    )


def rows(desk: OpenFile) -> tuple[TuneRow, ...]:
    """Return every tune as a line of the tune list, in title order, nameless ones last."""
    drawn = _drawn(desk, 0)
    lines = (_row(desk, tune, drawn, place) for place, tune in enumerate(desk.tunes.values()))
    return tuple(sorted(lines, key=_title_place))


def rows_of(desk: OpenFile, uuids: Sequence[str]) -> tuple[TuneRow, ...]:
    """Return some tunes as lines of the tune list, in the order given."""
    drawn = picture(desk.remembered.some(uuids), desk.now_days(), desk.params)
    return tuple(_row(desk, desk.tune(uuid), drawn, place) for place, uuid in enumerate(uuids))


def fading(desk: OpenFile, days_ahead: int = 0) -> tuple[FadingRow, ...]:
    """Return the weakest strand of every kept or learning tune, lowest chance first.

    Args:
        desk: The open repertoire.
        days_ahead: Look at the chances this many days from now, nothing being asked till then.
    """
    return _weakest(desk, _drawn(desk, days_ahead))


def _weakest(desk: OpenFile, drawn: Picture) -> tuple[FadingRow, ...]:
    columns = weakest(drawn)
    found = [
        FadingRow(
            tune=tune.uuid,
            title=tune.title,
            key=tune.key.short if tune.key else "",
            strand=strand_name(columns[place]),
            chance=chance_at(drawn, place, columns[place], desk.last_met.get(tune.uuid)),
        )
        for place, tune in enumerate(desk.tunes.values())
        if tune.status in ASKED_OF and columns[place] >= 0
    ]
    return tuple(sorted(found, key=lambda row: (row.chance.chance, row.title, row.tune)))


def _steps(desk: OpenFile, at: Moment, first: Plan) -> tuple[Step, ...]:
    done = {past.kind for past in desk.repertoire.rounds(at.day) if past.ended_at}
    last = chosen(desk, at, RoundKind.LAST)
    return tuple(
        Step(kind, minutes_of(at, made), len(made.picks), kind in done)
        for kind, made in ((RoundKind.FIRST, first), (RoundKind.LAST, last))
    )


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
        folded=_folded(tune.titles),
    )


@lru_cache(maxsize=20_000)
def _folded(titles: tuple[str, ...]) -> str:
    return " ".join(fold(title) for title in titles)
