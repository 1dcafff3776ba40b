"""What to practise between the rounds, grouped so that one drone serves each group."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from itertools import chain
from typing import TYPE_CHECKING

from tunememory.dates import agenda
from tunememory.history import checks_between
from tunememory.library.overview import folded_title, rows_of
from tunememory.music.fingering import drone_strings
from tunememory.music.strings import tuning_of
from tunememory.music.tune import Status
from tunememory.practice.sitting import would_not_come
from tunememory.recall.state import SAFE
from tunememory.text import ARTICLES, fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Tune
    from tunememory.session import Session


MOST = 8
"""Tunes on a work-list: about half an hour (common practice, no source)."""

_NO_ROOT = -1


class Reason(StrEnum):
    """Why a tune is on the list, the most pressing first."""

    CHOSEN = "your choice"
    DID_NOT_COME = "would not come today"
    PICK_UP = "pick up here"
    LEARNING = "in learning"
    DATE = "for the next date"


@dataclass(frozen=True, slots=True)
class Item:
    """A tune to work on and every reason for it, the most pressing first."""

    tune: Tune
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Tunes of one root.

    Attributes:
        root: Its name, empty when no key is known.
        drone: Index of the open string that drones under all of them, ``None`` where none does.
        items: Most pressing first, tunes of one mode together.
    """

    root: str
    drone: int | None
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class WorkList:
    """A practice in one tuning.

    Attributes:
        tuning: What the instrument stands in.
        groups: The group with the most pressing tune first.
        elsewhere: Number of tunes left out because they are in other tunings, by its letters.
    """

    tuning: Tuning
    groups: tuple[Group, ...]
    elsewhere: Mapping[str, int] = field(default_factory=dict)


def work_list(
    tunes: Iterable[Tune],
    usual: Tuning,
    tuning: Tuning,
    wanted: Mapping[Reason, Sequence[str]],
    most: int = MOST,
) -> WorkList:
    """Put together what to practise in one tuning.

    A tune is on the list once, with all its reasons. Resting and wanted tunes come only for a
    date, when the pick-up line is about them, or when the player chose them.

    Args:
        tunes: The repertoire.
        usual: Tuning of tunes that name none.
        tuning: What the instrument stands in.
        wanted: Identities of tunes by the reason for them, the most pressing first.
        most: Tunes on the list at most, whatever their reasons.
    """
    by_uuid = {tune.uuid: tune for tune in tunes}
    reasons: dict[str, list[Reason]] = {}
    for reason in Reason:
        for uuid in dict.fromkeys(wanted.get(reason, ())):
            if uuid in by_uuid:
                reasons.setdefault(uuid, []).append(reason)
    elsewhere: dict[str, int] = {}
    items: list[Item] = []
    for uuid, why in reasons.items():
        own = by_uuid[uuid].tuning or usual
        if own == tuning:
            items.append(Item(by_uuid[uuid], tuple(why)))
        else:
            elsewhere[own.letters] = elsewhere.get(own.letters, 0) + 1
    return WorkList(tuning, _grouped(items[:most], tuning), elsewhere)


def _grouped(items: Sequence[Item], tuning: Tuning) -> tuple[Group, ...]:
    groups: dict[int, list[Item]] = {}
    for item in items:
        root = item.tune.key.root_class if item.tune.key else _NO_ROOT
        groups.setdefault(root, []).append(item)
    made = [_group(root, members, tuning) for root, members in groups.items()]
    # Without a key there is no drone to go on with: those come last.
    return tuple(sorted(made, key=lambda group: not group.root))


def _group(root: int, members: Sequence[Item], tuning: Tuning) -> Group:
    key = members[0].tune.key
    if key is None:
        return Group("", None, tuple(members))
    by_mode: dict[str, list[Item]] = {}
    for item in members:
        by_mode.setdefault(item.tune.key.mode if item.tune.key else "", []).append(item)
    drones = drone_strings(root, tuning)
    return Group(key.root, drones[0] if drones else None, tuple(chain(*by_mode.values())))


LEAST_LETTERS = 4
"""A shorter title may be any word of a line."""

DATE_DAYS = 21
"""A date so many days ahead brings its tunes to the work-list."""


def tunes_to_practise(session: Session, tuning: str = "", chosen: Sequence[str] = ()) -> WorkList:
    """Return what to practise now in one tuning, grouped by root.

    Args:
        session: The open repertoire.
        tuning: Strings or nickname; empty is what the instrument stands in.
        chosen: Tunes that the player wants on it in any case.

    Raises:
        NotDoneError: The tuning cannot be read.
    """
    settings = session.settings
    day = session.day()
    wanted = {
        Reason.CHOSEN: chosen,
        Reason.DID_NOT_COME: would_not_come(checks_between(session, day, day)),
        Reason.PICK_UP: _picked_up(session),
        Reason.LEARNING: in_learning(session.tunes.values())[: settings.intake],
        Reason.DATE: _for_date(session),
    }
    stands_in = tuning_of(tuning) or settings.standing
    return work_list(session.tunes.values(), settings.usual, stands_in, wanted)


def count(session: Session) -> int:
    """Return how many tunes there are to practise now."""
    return sum(len(group.items) for group in tunes_to_practise(session).groups)


def in_learning(tunes: Iterable[Tune]) -> list[str]:
    """Return the tunes in learning, those that came in first before the others."""
    learning = [tune for tune in tunes if tune.status is Status.LEARNING]
    return [tune.uuid for tune in sorted(learning, key=lambda tune: (tune.added, tune.uuid))]


def _picked_up(session: Session) -> list[str]:
    """Tunes that the last pick-up line names by a whole title, in its order."""
    last = session.repertoire.pick_ups.last(session.day())
    if last is None:
        return []
    words = f" {fold(last[1])} "
    found: dict[str, int] = {}
    for tune in session.tunes.values():
        for title in map(folded_title, tune.titles):
            first, _, rest = title.partition(" ")
            named = rest if rest and first in ARTICLES else title
            place = words.find(f" {named} ") if len(named) >= LEAST_LETTERS else -1
            if place >= 0:
                found[tune.uuid] = min(place, found.get(tune.uuid, place))
    return sorted(found, key=lambda uuid: found[uuid])


def _for_date(session: Session) -> list[str]:
    """Tunes of the next date that are not ready now, the weakest first."""
    near = agenda.coming(session, DATE_DAYS)
    if not near:
        return []
    from tunememory.dates.recurrence import tunes_of  # noqa: PLC0415 - where there are dates

    wanted = [uuid for uuid in tunes_of(near[0][1], session.sets) if uuid in session.tunes]
    rows = sorted(rows_of(session, wanted), key=lambda row: row.chance.chance)
    return [row.tune.uuid for row in rows if row.chance.chance < SAFE]
