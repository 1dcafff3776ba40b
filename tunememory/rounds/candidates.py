"""What the planner knows of the repertoire: parallel arrays, one place a tune."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.history.days import HOW, WHAT
from tunememory.history.joins import COLUMN, join_of, row_of
from tunememory.music.tune import Status
from tunememory.recall.belief import stack
from tunememory.recall.check import Level, Prompt, column_of, prompt_strands
from tunememory.recall.gain import prompt_values

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from tunememory.history.joins import Join, Joins
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Tune
    from tunememory.recall.belief import Beliefs, TuneBelief
    from tunememory.recall.chances import Picture
    from tunememory.recall.check import Check
    from tunememory.rounds.date_share import DateGain


JOIN_SHARE = 0.2
"""Largest share of a round given to the joins of sets: the tunes themselves come first."""


@dataclass(frozen=True, slots=True)
class Standing:
    """The repertoire as it stands now, for T tunes.

    Attributes:
        uuids: T identities; ties are broken by this order, so it decides nothing else.
        tuning: T tunings as letters.
        root: (T,) pitch class of the root, -1 when unknown.
        kind: T kinds, empty when unknown.
        askable: (T, 2) whether How and What can be asked at all (resting and wanted: no).
        learning: (T,) in learning.
        new: (T,) in learning or met fewer than ``NEW_CHECKS`` times.
        favourite: (T,) weighs more.
        chance: (T,) chance of starting it now, 0 to 1.
        value: (T, 2) worth of asking now, in days callable (see ``value``).
        asked_today: (T,) asked in any round of today.
        put_off: (T,) "not today".
        last_met: (T,) days on the model's scale, nan when never.
        added: (T,) day ordinal it came in; older learning tunes go first.
        twins: Place of a tune to the places of tunes that begin alike.
        clash: Place to the places that may not be in the same round: one gives the other away.
        joins: How many places at the end are joins of sets, which are asked for like a tune but
            are none.
        date_days: (T,) days until the date that wants each, nan for none; ``None`` for no dates.
        date_gain: (T, 2) how much asking raises the chance on that day, nan where not wanted;
            ``None`` for no dates.
    """

    uuids: tuple[str, ...]
    tuning: tuple[str, ...]
    root: NDArray[np.int64]
    kind: tuple[str, ...]
    askable: NDArray[np.bool_]
    learning: NDArray[np.bool_]
    new: NDArray[np.bool_]
    favourite: NDArray[np.bool_]
    chance: NDArray[np.float64]
    value: NDArray[np.float64]
    asked_today: NDArray[np.bool_]
    put_off: NDArray[np.bool_]
    last_met: NDArray[np.float64]
    added: NDArray[np.int64]
    twins: dict[int, frozenset[int]] = field(default_factory=dict)
    clash: dict[int, frozenset[int]] = field(default_factory=dict)
    joins: int = 0
    date_days: NDArray[np.float64] | None = None
    date_gain: NDArray[np.float64] | None = None

    def is_join(self, place: int) -> bool:
        """Whether a place is a join."""
        return place >= len(self.uuids) - self.joins


NEW_CHECKS = 6
"""Checks below which a tune counts as new to its twins (own choice)."""


@dataclass(frozen=True, slots=True)
class Pick:
    """One prompt of a planned round.

    Attributes:
        place: Place of the tune in ``Standing``.
        prompt: ``HOW`` or ``WHAT``.
        why: Plain reason, shown on demand.
    """

    place: int
    prompt: int
    why: str


PROMPTS = {HOW: Prompt.HOW, WHAT: Prompt.WHAT}
COLUMNS = {Prompt.HOW: HOW, Prompt.WHAT: WHAT, Prompt.JOIN: HOW}


JOIN_WEIGHT = 2.0
"""How much more a join counts than a single strand of a tune: a set is only as good as its
weakest join, and a join has no second strand that would come to its help (own choice)."""


@dataclass(frozen=True, slots=True)
class Fixed:
    """What planning needs of the tunes themselves; made anew only when a tune or set changes.

    Arrays have one place a tune, in the order of the beliefs, then one a join.

    Attributes:
        joins: The joins, in the order of their places.
    """

    uuids: tuple[str, ...]
    tuning: tuple[str, ...]
    root: NDArray[np.int64]
    kind: tuple[str, ...]
    how: NDArray[np.bool_]
    what: NDArray[np.bool_]
    learning: NDArray[np.bool_]
    favourite: NDArray[np.bool_]
    added: NDArray[np.int64]
    twins: dict[int, frozenset[int]]
    joins: tuple[Join, ...]
    clash: dict[int, frozenset[int]]


def fixed(
    tunes: Sequence[Tune],
    columns: int,
    usual: Tuning,
    twins: Mapping[str, frozenset[str]],
    joins: Iterable[Join] = (),
    awake: frozenset[str] = frozenset(),
) -> Fixed:
    """Return the arrays of ``tunes`` and joins.

    Args:
        tunes: In the order of the beliefs.
        columns: F, the number of strand columns of the beliefs.
        usual: Tuning of tunes that name none.
        twins: Identity of a tune to those that begin alike.
        joins: Joins of sets; those of which a tune is not asked for are left out.
        awake: Resting tunes that a date or its season needs.
    """
    places = {tune.uuid: place for place, tune in enumerate(tunes)}
    asked = frozenset(
        tune.uuid
        for tune in tunes
        if tune.status in {Status.KEPT, Status.LEARNING}
        or (tune.status is Status.RESTING and tune.uuid in awake)
    )
    pairs = tuple(join for join in joins if asked.issuperset(join))
    seconds = [places[second] for _, second in pairs]
    rows = (*tunes, *(tunes[second] for second in seconds))
    how = np.zeros((len(rows), columns), dtype=bool)
    what = np.zeros((len(rows), columns), dtype=bool)
    for place, tune in enumerate(tunes):
        if tune.uuid in asked:
            how[place, [column_of(s) for s in prompt_strands(tune, Prompt.HOW)]] = True
            what[place, [column_of(s) for s in prompt_strands(tune, Prompt.WHAT)]] = True
    how[len(tunes) :, COLUMN] = True
    return Fixed(
        uuids=(*(tune.uuid for tune in tunes), *map(row_of, pairs)),
        tuning=tuple((tune.tuning or usual).letters for tune in rows),
        root=np.array([tune.key.root_class if tune.key else -1 for tune in rows], dtype=np.int64),
        kind=tuple(tune.kind for tune in rows),
        how=how,
        what=what,
        learning=_per_tune(tunes, pairs, lambda tune: tune.status is Status.LEARNING),
        favourite=_per_tune(tunes, pairs, lambda tune: tune.favourite),
        added=np.array([tune.added.toordinal() for tune in rows], dtype=np.int64),
        twins={
            places[uuid]: frozenset(places[mate] for mate in mates if mate in places)
            for uuid, mates in twins.items()
            if uuid in places
        },
        joins=pairs,
        clash=_clashes(len(tunes), seconds),
    )


def with_joins(beliefs: Beliefs, joins: Sequence[TuneBelief]) -> Beliefs:
    """Return the beliefs of tunes with those of joins below, in the order of ``Fixed``."""
    if not joins:
        return beliefs
    # One of the tunes gives the number of columns.
    return beliefs.over(stack([*joins, beliefs.tune(0)]).first(len(joins)))


def standing(
    tunes: Fixed,
    beliefs: Beliefs,
    drawn: Picture,
    strand_values: NDArray[np.float64],
    last_met: Mapping[str, float],
    asked_today: frozenset[str],
    put_off: frozenset[str],
    dated: NDArray[np.float64] | None = None,
    for_dates: DateGain | None = None,
) -> Standing:
    """Return the repertoire as the planner takes it.

    Args:
        tunes: Arrays of the tunes and joins.
        beliefs: Beliefs in the same order.
        drawn: Chances now.
        strand_values: (T, F) worth of checking each strand now.
        last_met: Last check of each tune and join, in days on the model's scale.
        asked_today: Tunes and joins asked in any round today.
        put_off: Tunes not wanted today.
        dated: (T,) what each weighs because of the dates coming, ``None`` for none.
        for_dates: What asking now does for the dates near, ``None`` for no dates.
    """
    rows = np.arange(len(tunes.uuids))
    opening = np.where(drawn.opening >= 0, drawn.chance[rows, drawn.opening], 0.0)
    value = prompt_values(
        strand_values, tunes.how, tunes.what, tunes.favourite, tunes.learning, dated
    )
    own = len(rows) - len(tunes.joins)
    value[own:] *= JOIN_WEIGHT
    new = tunes.learning | (beliefs.checks.max(axis=1, initial=0) < NEW_CHECKS)
    new[own:] = False
    off = [uuid in put_off for uuid in tunes.uuids[:own]]
    off += [not put_off.isdisjoint(join) for join in tunes.joins]
    return Standing(
        uuids=tunes.uuids,
        tuning=tunes.tuning,
        root=tunes.root,
        kind=tunes.kind,
        askable=np.stack([tunes.how.any(axis=1), tunes.what.any(axis=1)], axis=1),
        learning=tunes.learning,
        new=new,
        favourite=tunes.favourite,
        chance=opening,
        value=value,
        asked_today=np.array([uuid in asked_today for uuid in tunes.uuids], dtype=bool),
        put_off=np.array(off, dtype=bool),
        last_met=np.array([last_met.get(uuid, np.nan) for uuid in tunes.uuids], dtype=float),
        added=tunes.added,
        twins=tunes.twins,
        clash=tunes.clash,
        joins=len(tunes.joins),
        date_days=for_dates.days if for_dates else None,
        date_gain=_by_prompt(tunes, for_dates.gain) if for_dates else None,
    )


def _by_prompt(tunes: Fixed, strands: NDArray[np.float64]) -> NDArray[np.float64]:
    """(T, 2) sums over the strands each prompt asks for."""
    none = np.zeros(len(tunes.uuids), dtype=bool)
    return prompt_values(strands, tunes.how, tunes.what, none, none)


def last_met(
    checked: Mapping[str, datetime], practised: Mapping[str, datetime], joins: Joins
) -> dict[str, float]:
    """Return when each tune and join was met last, in days on the model's scale.

    A tune practised, or played in company, was met too.
    """
    met = {uuid: to_days(at) for uuid, at in checked.items()}
    for uuid, at in practised.items():
        met[uuid] = max(to_days(at), met.get(uuid, -np.inf))
    for join in joins.of_sets:
        asked = joins.last_asked(join)
        if asked is not None:
            met[row_of(join)] = to_days(asked)
    return met


def row_asked(check: Check) -> str:
    """Return what a check asked for: a tune, or a join, by its identity in ``Standing``."""
    join = join_of(check)
    return row_of(join) if join else check.tune


def failed_today(checks: Sequence[Check], places: Mapping[str, int]) -> list[tuple[int, int]]:
    """Return ``(place, prompt)`` of today's cold checks with a level below 3, in order."""
    failed: list[tuple[int, int]] = []
    for check in checks:
        place = places.get(row_asked(check))
        if place is not None and any(level < Level.FIND for _, level in check.levels):
            failed.append((place, COLUMNS[check.prompt]))
    return failed


def _per_tune(
    tunes: Sequence[Tune], joins: Sequence[Join], fact: Callable[[Tune], bool]
) -> NDArray[np.bool_]:
    """A fact of each tune; no join has it."""
    return np.array([*map(fact, tunes), *(False for _ in joins)], dtype=bool)


def _clashes(tunes: int, seconds: Sequence[int]) -> dict[int, frozenset[int]]:
    """A join's answer is the start of its second tune, so they are not asked in one round."""
    clash: dict[int, set[int]] = {}
    for number, second in enumerate(seconds):
        clash.setdefault(tunes + number, set()).add(second)
        clash.setdefault(second, set()).add(tunes + number)
    return {place: frozenset(others) for place, others in clash.items()}
