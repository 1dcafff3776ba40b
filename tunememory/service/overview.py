"""Today, the tune list and what is fading."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.service.chances import Picture, chance_at, picture, strand_name, weakest
from tunememory.service.time_away import not_lost_by_time, returned
from tunememory.service.views import FadingRow, TuneRow
from tunememory.tunes.text import ARTICLES, fold
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import Chance
    from tunememory.tunes.tune import Tune

ASKED_OF = frozenset({Status.KEPT, Status.LEARNING})
"""Tunes that are asked for; wanted and resting ones are left in peace."""


def rows(desk: OpenFile) -> tuple[TuneRow, ...]:
    """Return every tune as a line of the tune list, in title order, nameless ones last."""
    drawn, back = drawn_now(desk, 0), returned(desk)
    lines = (
        _row_of(desk, tune, drawn, place, back) for place, tune in enumerate(desk.tunes.values())
    )
    return tuple(sorted(lines, key=_title_place))


def rows_of(desk: OpenFile, uuids: Sequence[str]) -> tuple[TuneRow, ...]:
    """Return some tunes as lines of the tune list, in the order given."""
    drawn = picture(desk.remembered.some(uuids), desk.now_days(), desk.params)
    back = returned(desk)
    return tuple(
        _row_of(desk, desk.tune(uuid), drawn, place, back) for place, uuid in enumerate(uuids)
    )


def fading(desk: OpenFile, days_ahead: int = 0) -> tuple[FadingRow, ...]:
    """Return the weakest strand of every kept or learning tune, lowest chance first.

    Args:
        desk: The open repertoire.
        days_ahead: Look at the chances this many days from now, nothing being asked till then.
    """
    drawn, back = drawn_now(desk, days_ahead), returned(desk)
    columns = weakest(drawn)
    found = [
        FadingRow(
            tune=tune.uuid,
            title=tune.title,
            key=tune.key.short if tune.key else "",
            strand=strand_name(columns[place]),
            chance=_chance(desk, tune, drawn, place, columns[place], back),
        )
        for place, tune in enumerate(desk.tunes.values())
        if tune.status in ASKED_OF and columns[place] >= 0
    ]
    return tuple(sorted(found, key=lambda row: (row.chance.chance, row.title, row.tune)))


def _title_place(row: TuneRow) -> tuple[bool, str, str]:
    first, _, rest = row.folded.partition(" ")
    return not row.folded, rest if rest and first in ARTICLES else row.folded, row.uuid


def drawn_now(desk: OpenFile, days_ahead: int = 0) -> Picture:
    """Return the chances of every tune, so many days from now if nothing is asked till then."""
    return picture(desk.remembered.all(), desk.now_days() + days_ahead, desk.params)


def _row_of(desk: OpenFile, tune: Tune, drawn: Picture, place: int, back: float | None) -> TuneRow:
    """Return a tune as a line of the tune list.

    Args:
        desk: The open repertoire.
        tune: The tune.
        drawn: Chances of it and others.
        place: Its row in ``drawn``.
        back: The day of the return from time away.
    """
    column = int(drawn.opening[place])
    return TuneRow(
        uuid=tune.uuid,
        title=tune.title,
        other_titles=tune.titles[1:],
        kind=tune.kind,
        key=tune.key.short if tune.key else "",
        tuning=(tune.tuning or desk.settings.usual).letters,
        status=tune.status,
        chance=_chance(desk, tune, drawn, place, column, back),
        folded=_folded(tune.titles),
    )


def _chance(
    desk: OpenFile, tune: Tune, drawn: Picture, place: int, column: int, back: float | None
) -> Chance:
    met = desk.last_met.get(tune.uuid)
    return not_lost_by_time(chance_at(drawn, place, column, met), back)


@lru_cache(maxsize=20_000)
def _folded(titles: tuple[str, ...]) -> str:
    return " ".join(map(folded_title, titles))


@lru_cache(maxsize=40_000)
def folded_title(title: str) -> str:
    """Return ``fold(title)``, at once where it was folded before."""
    return fold(title)
