"""What to practise between the rounds, grouped so that one drone serves each group."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from tunememory.dates import agenda
from tunememory.history.days import checks_between
from tunememory.library.overview import folded_title, rows_of
from tunememory.music.fingering import drone_strings
from tunememory.music.tune import Status
from tunememory.music.typed_starts import tuning_of
from tunememory.recall.check import Level, RoundKind, joined_by
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
class Wanted:
    """What today asks to be worked on; identities of tunes.

    Attributes:
        did_not_come: With a level below 3 in today's cold checks, in order.
        pick_up: Those the last pick-up line is about.
        for_date: Those of the next date that are not ready, the weakest first.
        intake: At most so many tunes in learning.
        chosen: Those the player wants to work on, whatever the plan says.
    """

    did_not_come: Sequence[str] = ()
    pick_up: Sequence[str] = ()
    for_date: Sequence[str] = ()
    intake: int = 3
    chosen: Sequence[str] = ()


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
    tunes: Iterable[Tune], usual: Tuning, tuning: Tuning, wanted: Wanted, most: int = MOST
) -> WorkList:
    """Put together what to practise in one tuning.

    A tune is on the list once, with all its reasons. Resting and wanted tunes come only for a
    date, when the pick-up line is about them, or when the player chose them.

    Args:
        tunes: The repertoire.
        usual: Tuning of tunes that name none.
        tuning: What the instrument stands in.
        wanted: What today asks for.
        most: Tunes on the list at most, whatever their reasons.
    """
    by_uuid = {tune.uuid: tune for tune in tunes}
    reasons = _reasons(by_uuid, wanted)
    elsewhere: dict[str, int] = {}
    items: list[Item] = []
    for uuid, why in reasons.items():
        own = by_uuid[uuid].tuning or usual
        if own == tuning:
            items.append(Item(by_uuid[uuid], tuple(why)))
        else:
            elsewhere[own.letters] = elsewhere.get(own.letters, 0) + 1
    return WorkList(tuning, _grouped(items[:most], tuning), elsewhere)


def _reasons(tunes: Mapping[str, Tune], wanted: Wanted) -> dict[str, list[Reason]]:
    """Reasons of each tune wanted, the most pressing tune first."""
    learning = sorted(
        (tune for tune in tunes.values() if tune.status is Status.LEARNING),
        key=lambda tune: (tune.added, tune.uuid),
    )
    asked_for = (
        (Reason.CHOSEN, wanted.chosen),
        (Reason.DID_NOT_COME, wanted.did_not_come),
        (Reason.PICK_UP, wanted.pick_up),
        (Reason.LEARNING, [tune.uuid for tune in learning[: wanted.intake]]),
        (Reason.DATE, wanted.for_date),
    )
    reasons: dict[str, list[Reason]] = {}
    for reason, uuids in asked_for:
        for uuid in dict.fromkeys(uuids):
            if uuid in tunes:
                reasons.setdefault(uuid, []).append(reason)
    return reasons


def _grouped(items: Sequence[Item], tuning: Tuning) -> tuple[Group, ...]:
    groups: dict[int, list[Item]] = {}
    for item in items:
        root = item.tune.key.root_class if item.tune.key else _NO_ROOT
        groups.setdefault(root, []).append(item)
    made = [_group(root, members, tuning) for root, members in groups.items()]
    # Without a key there is no drone to go on with: those come last.
    return tuple(sorted(made, key=lambda group: not group.root))


def _group(root: int, members: Sequence[Item], tuning: Tuning) -> Group:
    modes = list(dict.fromkeys(item.tune.key.mode for item in members if item.tune.key))
    ordered = sorted(members, key=lambda item: modes.index(item.tune.key.mode) if item.tune.key
                     else 0)  # fmt: skip
    key = members[0].tune.key
    drones = drone_strings(root, tuning) if key else ()
    return Group(key.root if key else "", drones[0] if drones else None, tuple(ordered))


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
    wanted = Wanted(
        chosen=chosen,
        did_not_come=_did_not_come(session),
        pick_up=_picked_up(session),
        for_date=_for_date(session),
        intake=settings.intake,
    )
    stands_in = tuning_of(tuning) or settings.standing
    return work_list(session.tunes.values(), settings.usual, stands_in, wanted)


def count(session: Session) -> int:
    """Return how many tunes there are to practise now."""
    return sum(len(group.items) for group in tunes_to_practise(session).groups)


def _did_not_come(session: Session) -> list[str]:
    """Tunes with a level below 3 in today's cold checks; of a join the tune that did not come."""
    day = session.day()
    found: list[str] = []
    for check in checks_between(session, day, day):
        if check.round_kind is not RoundKind.LAST:
            strand, level = min(check.levels, key=lambda pair: pair[1])
            if level < Level.FIND:
                found.append(joined_by(strand) or check.tune)
    return found


def _picked_up(session: Session) -> list[str]:
    """Tunes that the last pick-up line names by a whole title, in its order."""
    kept = session.repertoire.pick_ups.last(session.day())
    if kept is None:
        return []
    words = f" {fold(kept[1])} "
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
    return [row.uuid for row in rows if row.chance.chance < SAFE]
