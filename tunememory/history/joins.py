"""Joins of sets: from one tune into the next.

A join is remembered apart from the tunes it joins: the second tune can be known and still not
come when the first ends. It is one strand of its own, known by the two tunes in their order, so
that the same join in two sets is one, and a set can be edited without losing what is known.
Its checks stand in the history under the first tune; what is believed of it is always worked
out from them, there being few, and never kept in the file.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory.clock import to_days
from tunememory.music.tune import Declared
from tunememory.recall.belief import TuneBelief, first_belief, stack
from tunememory.recall.chances import weakest_chances
from tunememory.recall.check import FIRST_START_COLUMN, RoundKind, join_to, joined_by, strand_of
from tunememory.recall.replay import replay
from tunememory.recall.update import CheckEvent, after
from tunememory.session import About, Memo

if TYPE_CHECKING:
    from datetime import datetime

    from tunememory.recall.check import Check
    from tunememory.recall.parameters import Parameters
    from tunememory.session import Session
    from tunememory.store.records import TuneSet


Join = tuple[str, str]
"""Identities of two tunes, the second played after the first."""

COLUMN = FIRST_START_COLUMN
"""Where a join's one strand stands in its belief: what is asked for is a start."""

STRAND = strand_of(COLUMN)
"""The strand of that column."""


@dataclass(frozen=True, slots=True)
class Joins:
    """Joins of all sets, and of sets that were.

    Attributes:
        of_sets: Those of the present sets, each once, in the order of the sets.
        checks: Checks of each join that was ever asked, oldest first.
    """

    of_sets: tuple[Join, ...]
    checks: dict[Join, list[Check]]

    def last_asked(self, join: Join) -> datetime | None:
        """When a join was asked last, ``None`` if never."""
        asked = self.checks.get(join)
        return asked[-1].at if asked else None


def keep_in_step(session: Session, check: Check) -> None:
    """Bring what is believed in step with a check of a join that was just written."""
    join = join_of(check)
    joins, believed = joins_of(session), beliefs_of(session)
    if join is None or join not in believed:
        session.changed(About.CHANGES)
        return
    made = joins.checks.setdefault(join, [])
    if check in made or any(check.at < past.at for past in made):
        # Read from the file with this check in it, or a late one: its place is not the last.
        session.changed(About.CHANGES)
        return
    before = believed[join] if made else _fresh(session.params, to_days(check.at))
    made.append(check)
    believed[join] = after(before, _event(check), session.params)


def join_of(check: Check) -> Join | None:
    """Return the join a check asked for, ``None`` for other checks."""
    after = joined_by(check.levels[0][0])
    return (check.tune, after) if after else None


def row_of(join: Join) -> str:
    """Return the identity of a join where it stands in line with tunes."""
    return f"{join[0]} {join_to(join[1])}"


def joined_tunes(row: str) -> tuple[str, ...]:
    """Return the tunes an identity stands for: one, or the two of a join (``row_of``)."""
    first, space, rest = row.partition(" ")
    return (first, joined_by(rest)) if space else (first,)


def chance_of(session: Session, join: Join) -> float:
    """Return the chance that a join comes now; one of no present set counts as never asked."""
    belief = stack([belief_of(session, join)])
    return weakest_chances(belief, (STRAND,), session.now_days(), session.params)[0]


def belief_of(session: Session, join: Join) -> TuneBelief:
    """Return what is believed of a join; one of no present set counts as never asked."""
    return beliefs_of(session).get(join) or _fresh(session.params, session.now_days())


def pairs_of(tune_set: TuneSet) -> tuple[Join, ...]:
    """Return the joins of one set in order; a tune played twice running has none."""
    return tuple(pair for pair in pairwise(tune_set.tunes) if pair[0] != pair[1])


def _read(session: Session) -> Joins:
    pairs = (pair for one in session.sets.values() for pair in pairs_of(one))
    checks: dict[Join, list[Check]] = {}
    for check in session.repertoire.checks.of_joins():
        join = join_of(check)
        if join is not None:
            checks.setdefault(join, []).append(check)
    return Joins(tuple(dict.fromkeys(pairs)), checks)


def _believed(session: Session) -> dict[Join, TuneBelief]:
    joins = joins_of(session)
    firsts = [_first(joins, join, session) for join in joins.of_sets]
    events = [[_event(check) for check in joins.checks.get(join, ())] for join in joins.of_sets]
    return dict(zip(joins.of_sets, replay(firsts, events, session.params), strict=True))


def _first(joins: Joins, join: Join, session: Session) -> TuneBelief:
    """Belief before a join is first asked: as of a tune in learning, however old the set is.

    When the set was first played is not known, so it counts as met the day before it is first
    asked (own choice).
    """
    checks = joins.checks.get(join)
    at = to_days(checks[0].at) if checks else session.now_days()
    return _fresh(session.params, at)


def _fresh(params: Parameters, at: float) -> TuneBelief:
    return first_belief([COLUMN], Declared.LEARNING, at, params)


def _event(check: Check) -> CheckEvent:
    return CheckEvent(
        at=to_days(check.at),
        day=check.day.toordinal(),
        levels=((COLUMN, int(check.levels[0][1])),),
        hints=check.hints,
        cold=check.round_kind is not RoundKind.LAST,
    )


joins_of = Memo(_read, About.TUNES | About.SETS | About.CHANGES)
"""The joins of the repertoire."""

beliefs_of = Memo(_believed, About.TUNES | About.SETS | About.CHANGES | About.BELIEFS)
"""What is believed of every join of the present sets."""
