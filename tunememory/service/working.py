"""What to practise now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.planning.work_list import Wanted, WorkList, work_list
from tunememory.service import agenda
from tunememory.service.overview import folded_title, rows_of
from tunememory.service.spent import checks_between
from tunememory.service.typed import tuning_of
from tunememory.tunes.check import Level, RoundKind, joined_by
from tunememory.tunes.text import ARTICLES, fold

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.open_file import OpenFile

LEAST_LETTERS = 4
"""A shorter title may be any word of a line."""

DATE_DAYS = 21
"""A date so many days ahead brings its tunes to the work-list."""


def to_practise(desk: OpenFile, tuning: str = "", chosen: Sequence[str] = ()) -> WorkList:
    """Return what to practise now in one tuning, grouped by root.

    Args:
        desk: The open repertoire.
        tuning: Strings or nickname; empty is what the instrument stands in.
        chosen: Tunes that the player wants on it in any case.

    Raises:
        ServiceError: The tuning cannot be read.
    """
    settings = desk.settings
    wanted = Wanted(
        chosen=chosen,
        did_not_come=_did_not_come(desk),
        pick_up=_picked_up(desk),
        for_date=_for_date(desk),
        intake=settings.intake,
    )
    stands_in = tuning_of(tuning) or settings.standing
    return work_list(desk.tunes.values(), settings.usual, stands_in, wanted)


def count(desk: OpenFile) -> int:
    """Return how many tunes there are to practise now."""
    return sum(len(group.items) for group in to_practise(desk).groups)


def _did_not_come(desk: OpenFile) -> list[str]:
    """Tunes with a level below 3 in today's cold checks; of a join the tune that did not come."""
    day = desk.day()
    found: list[str] = []
    for check in checks_between(desk, day, day):
        if check.round_kind is not RoundKind.LAST:
            strand, level = min(check.levels, key=lambda pair: pair[1])
            if level < Level.FIND:
                found.append(joined_by(strand) or check.tune)
    return found


def _picked_up(desk: OpenFile) -> list[str]:
    """Tunes that the last pick-up line names by a whole title, in its order."""
    kept = desk.repertoire.last_pick_up(desk.day())
    if kept is None:
        return []
    words = f" {fold(kept[1])} "
    found: dict[str, int] = {}
    for tune in desk.tunes.values():
        for title in map(folded_title, tune.titles):
            first, _, rest = title.partition(" ")
            named = rest if rest and first in ARTICLES else title
            place = words.find(f" {named} ") if len(named) >= LEAST_LETTERS else -1
            if place >= 0:
                found[tune.uuid] = min(place, found.get(tune.uuid, place))
    return sorted(found, key=lambda uuid: found[uuid])


def _for_date(desk: OpenFile) -> list[str]:
    """Tunes of the next date that are not ready now, the weakest first."""
    near = agenda.coming(desk, DATE_DAYS)
    if not near:
        return []
    from tunememory.planning.calendar import tunes_of  # noqa: PLC0415 - where there are dates
    from tunememory.planning.readiness import READY  # noqa: PLC0415 - where there are dates

    wanted = [uuid for uuid in tunes_of(near[0][1], desk.sets) if uuid in desk.tunes]
    rows = sorted(rows_of(desk, wanted), key=lambda row: row.chance.chance)
    return [row.uuid for row in rows if row.chance.chance < READY]
