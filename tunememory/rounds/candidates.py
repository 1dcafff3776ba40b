"""What the planner knows of the repertoire: parallel arrays, one place a tune."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.dates.agenda import dates_of
from tunememory.dates.weights import awake, date_weights_now, days_until
from tunememory.history import COLUMN, HOW, WHAT, join_beliefs, join_of, joins_of, row_of
from tunememory.library.twins import twin_map
from tunememory.music.tune import Status
from tunememory.recall.belief import in_blocks, stack
from tunememory.recall.chances import chances_of
from tunememory.recall.check import NAME_COLUMN, Level, Prompt
from tunememory.recall.gain import ask_value, gain_parts, strand_gain
from tunememory.session import About, Memo

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from tunememory.history import Join
    from tunememory.music.tune import Tune
    from tunememory.recall.belief import Beliefs
    from tunememory.recall.check import Check
    from tunememory.recall.parameters import Parameters
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class Candidates:
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
        place: Place of the tune in ``Candidates``.
        prompt: ``HOW`` or ``WHAT``.
    """

    place: int
    prompt: int


PROMPTS = {HOW: Prompt.HOW, WHAT: Prompt.WHAT}
COLUMNS = {Prompt.HOW: HOW, Prompt.WHAT: WHAT, Prompt.JOIN: HOW}


FAVOURITE_WEIGHT = 1.5
LEARNING_WEIGHT = 1.3
"""How much more a check of such a tune counts (own choice)."""

JOIN_WEIGHT = 2.0
"""How much more a join counts than a single strand of a tune: a set is only as good as its
weakest join, and a join has no second strand that would come to its help (own choice)."""


@dataclass(frozen=True, slots=True)
class TuneFacts:
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


def _facts(session: Session) -> TuneFacts:
    beliefs = session.beliefs.all()
    by_uuid, usual = session.tunes, session.settings.usual
    tunes = [by_uuid[uuid] for uuid in beliefs.uuids]
    # Resting tunes that a date or its season needs are asked for all the same.
    needed = awake(session)
    places = {tune.uuid: place for place, tune in enumerate(tunes)}
    asked = frozenset(
        tune.uuid
        for tune in tunes
        if tune.status.asked_for or (tune.status is Status.RESTING and tune.uuid in needed)
    )
    pairs = tuple(join for join in joins_of(session).of_sets if asked.issuperset(join))
    seconds = [places[second] for _, second in pairs]
    rows = (*tunes, *(tunes[second] for second in seconds))
    # A belief speaks of the strands its tune has: asked for are all but the name, or the name.
    how = np.zeros((len(rows), beliefs.mean.shape[1]), dtype=bool)
    how[: len(tunes)] = beliefs.present & np.array(
        [uuid in asked for uuid in places], dtype=bool
    ).reshape(-1, 1)
    what = np.zeros_like(how)
    what[:, NAME_COLUMN] = how[:, NAME_COLUMN]
    how[:, NAME_COLUMN] = False
    how[len(tunes) :, COLUMN] = True
    return TuneFacts(
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
            for uuid, mates in twin_map(session).items()
            if uuid in places
        },
        joins=pairs,
        clash=_clashes(len(tunes), seconds),
    )


tune_facts = Memo(
    _facts,
    About.TUNES | About.SETS | About.TWINS | About.SETTINGS | About.CHANGES | About.BELIEFS,
    daily=True,
)
"""What planning needs of the tunes themselves; a season may wake other tunes on another day."""


def candidates_now(session: Session, todays: Sequence[Check], prompts_a_day: int) -> Candidates:
    """Return the repertoire as the planner takes it, now.

    Args:
        session: The open repertoire.
        todays: The checks of the practice day so far.
        prompts_a_day: How many prompts the player's minutes hold; sets what a check is worth.
    """
    at = session.now_days()
    tunes = tune_facts(session)
    own = len(tunes.uuids) - len(tunes.joins)
    beliefs = _with_joins(session, tunes)
    now = chances_of(beliefs, at, session.params)
    first = now.chance[np.arange(len(tunes.uuids)), now.opening]
    new = tunes.learning | (beliefs.checks.max(axis=1, initial=0) < NEW_CHECKS)
    new[own:] = False
    met = last_met(session)
    asked_today = frozenset(map(row_asked, todays))
    put_off = frozenset(session.repertoire.rounds.put_off_on(session.day()))
    off = [uuid in put_off for uuid in tunes.uuids[:own]]
    off += [not put_off.isdisjoint(join) for join in tunes.joins]
    days = _date_days(session, tunes)
    return Candidates(
        uuids=tunes.uuids,
        tuning=tunes.tuning,
        root=tunes.root,
        kind=tunes.kind,
        askable=np.stack([tunes.how.any(axis=1), tunes.what.any(axis=1)], axis=1),
        learning=tunes.learning,
        new=new,
        favourite=tunes.favourite,
        chance=np.where(now.opening >= 0, first, 0.0),
        value=_worth(session, tunes, beliefs, prompts_a_day),
        asked_today=np.array([uuid in asked_today for uuid in tunes.uuids], dtype=bool),
        put_off=np.array(off, dtype=bool),
        last_met=np.array([met.get(uuid, np.nan) for uuid in tunes.uuids], dtype=float),
        added=tunes.added,
        twins=tunes.twins,
        clash=tunes.clash,
        joins=len(tunes.joins),
        date_days=days,
        date_gain=None
        if days is None
        else by_prompt(date_gain(beliefs, at, session.params, days), tunes.how, tunes.what),
    )


def _with_joins(session: Session, tunes: TuneFacts) -> Beliefs:
    """The beliefs of tunes with those of joins below, in the order of ``TuneFacts``."""
    beliefs = session.beliefs.all()
    if not tunes.joins:
        return beliefs
    of_joins = join_beliefs(session)
    believed = [of_joins[join] for join in tunes.joins]
    # One of the tunes gives the number of columns.
    return beliefs.over(stack([*believed, beliefs.tune(0)]).first(len(believed)))


def _worth(
    session: Session, tunes: TuneFacts, beliefs: Beliefs, prompts_a_day: int
) -> NDArray[np.float64]:
    """(T, 2) worth of asking now, in days callable."""
    at = session.now_days()
    keeping, growing = in_blocks(beliefs, 2, lambda some: gain_parts(some, at, session.params))
    # What is left in peace must not set the price of a check.
    idle = ~(tunes.how | tunes.what).any(axis=1)
    keeping[idle] = growing[idle] = np.nan
    strands = ask_value(keeping, growing, prompts_a_day)
    weights = date_weights_now(session, tunes.uuids, tunes.joins)
    worth = by_prompt(strands, tunes.how, tunes.what)
    worth *= weights_of(tunes.favourite, tunes.learning, weights)[:, None]
    worth[len(worth) - len(tunes.joins) :] *= JOIN_WEIGHT
    return worth


def _date_days(session: Session, tunes: TuneFacts) -> NDArray[np.float64] | None:
    """(T,) days until the date that names each, nan for none; ``None`` where there are no dates.

    A date names a join when it names the tune the join leads to.
    """
    if not dates_of(session):
        return None
    own = len(tunes.uuids) - len(tunes.joins)
    rows = (*tunes.uuids[:own], *(second for _, second in tunes.joins))
    return days_until(rows, dates_of(session).values(), session.sets, session.day())


def date_gain(
    beliefs: Beliefs, at: float, params: Parameters, days: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how much a check at ``at`` would raise the chance of each strand on its date.

    Args:
        beliefs: T tunes, F columns.
        at: Days since the epoch.
        params: The player's parameters (or of each tune, ``parameters.side_by_side``).
        days: (T,) days until the date that wants each, nan for none.

    Returns:
        (T, F); nan where no date wants it.
    """
    gain = np.full(beliefs.mean.shape, np.nan)
    for before in np.unique(days[np.isfinite(days)]):
        rows = np.flatnonzero(days == before)
        own = params.of_rows(rows)
        gain[rows] = strand_gain(beliefs.rows(rows), at, own, float(before))
    return gain


def by_prompt(
    strands: NDArray[np.float64], how: NDArray[np.bool_], what: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Sum what the strands of each prompt are worth: a prompt is worth what they are together.

    Args:
        strands: (T, F) of each strand, nan where there is none.
        how: (T, F) strands that "How does it go?" asks for.
        what: (T, F) strands that "What's this one?" asks for.

    Returns:
        (T, 2) array, How in column 0 and What in column 1; 0 where nothing is asked.
    """
    sums = [np.where(asked, strands, 0.0).sum(axis=1) for asked in (how, what)]
    return np.stack(sums, axis=1)


def weights_of(
    favourite: NDArray[np.bool_], learning: NDArray[np.bool_], dated: NDArray[np.float64] | None
) -> NDArray[np.float64]:
    """(T,) how much more a check of each tune counts; ``dated`` for the dates coming, if any."""
    weight = np.where(favourite, FAVOURITE_WEIGHT, 1.0) * np.where(learning, LEARNING_WEIGHT, 1.0)
    return weight if dated is None else weight * dated


def last_met(session: Session) -> dict[str, float]:
    """Return when each tune and join was met last, in days on the model's scale.

    A tune practised, or played in company, was met too.
    """
    met = {uuid: to_days(at) for uuid, at in session.last_met.items()}
    for uuid, at in session.last_practised.items():
        met[uuid] = max(to_days(at), met.get(uuid, -np.inf))
    joins = joins_of(session)
    for join in joins.of_sets:
        asked = joins.last_asked(join)
        if asked is not None:
            met[row_of(join)] = to_days(asked)
    return met


def row_asked(check: Check) -> str:
    """Return what a check asked for: a tune, or a join, by its identity in ``Candidates``."""
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
