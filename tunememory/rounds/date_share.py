"""Which tunes of a round go to a date that is near.

A share of the round belongs to the date (``weights.load``): it goes to those of its tunes whose
chance on the day a check raises most. So the weakest come oftener, and all that can fade are met
again in the last days. The others have the rest of the round to themselves: what the date costs
them is its share and no more.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory.dates.agenda import dates_of
from tunememory.dates.weights import days_until, load
from tunememory.recall.gain import strand_gain
from tunememory.rounds.candidates import JOIN_SHARE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tunememory.history.joins import Join
    from tunememory.recall.belief import Beliefs
    from tunememory.recall.parameters import Parameters
    from tunememory.rounds.candidates import Pick, Standing
    from tunememory.session import Session


LEAST_GAIN = 0.01
"""A tune whose chance on the day a check would raise by less is left to the ordinary plan (own
choice: more would leave tunes out that fade after all, on simulated players)."""


@dataclass(frozen=True, slots=True, eq=False)
class DateGain:
    """What asking T tunes now does for dates.

    Attributes:
        days: (T,) days until the date that names each, nan for none.
        gain: (T, F) how much a check now raises the chance of each strand on that day, nan where
            no date names it.
    """

    days: NDArray[np.float64]
    gain: NDArray[np.float64]


def date_gain(
    beliefs: Beliefs, at: float, params: Parameters, days: NDArray[np.float64]
) -> DateGain:
    """Return what a check at ``at`` would do for the dates.

    Args:
        beliefs: T tunes, F columns.
        at: Days since the epoch.
        params: The player's parameters (or of each tune, ``parameters.side_by_side``).
        days: (T,) days until the date that wants each, nan for none.
    """
    gain = np.full(beliefs.mean.shape, np.nan)
    for before in np.unique(days[np.isfinite(days)]):
        rows = np.flatnonzero(days == before)
        own = params.of_rows(rows)
        gain[rows] = strand_gain(beliefs.rows(rows), at, own, float(before))
    return DateGain(days, gain)


def brought_forward(
    gain: NDArray[np.float64],
    days: NDArray[np.float64],
    room: float,
    joins: NDArray[np.bool_] | None = None,
) -> NDArray[np.int64]:
    """Return the places of what a round takes first, most gain first.

    Args:
        gain: (N,) how much asking each raises its chance on the day; nan where not wanted.
        days: (N,) days until the date that wants each, nan for none.
        room: Prompts the round has room for.
        joins: (N,) which are joins of sets, ``None`` for none. One strand gains less than the
            several of a tune, yet a set is not ready without it: joins have places of their own.
    """
    near = days[np.isfinite(days)]
    share = max((load(int(before)) for before in np.unique(near)), default=0.0)
    places = round(share * room)
    named = np.isfinite(days) & (gain >= LEAST_GAIN)
    if joins is None:
        return _most(gain, named, places)
    own = min(max(1, int(places * JOIN_SHARE)), places)
    of_joins = _most(gain, named & joins, own)
    of_tunes = _most(gain, named & ~joins, places - len(of_joins))
    return np.concatenate([of_tunes, of_joins])


def _most(gain: NDArray[np.float64], which: NDArray[np.bool_], places: int) -> NDArray[np.int64]:
    """Rows of ``which`` with most gain, ``places`` at most."""
    order = np.argsort(-np.where(which, gain, -np.inf), kind="stable")[:places]
    return np.asarray(order[which[order]])


def for_dates(
    standing: Standing, ranked: Sequence[Pick], room: float
) -> tuple[list[Pick], list[Pick]]:
    """Return the picks dates take first, and all they want: the rest of those comes last.

    Args:
        standing: The repertoire.
        ranked: What may be asked, one pick a tune.
        room: Prompts the round has room for.
    """
    if standing.date_days is None or standing.date_gain is None:
        return [], []
    days = standing.date_days
    held = [pick for pick in ranked if np.isfinite(days[pick.place])]
    gain = np.array([standing.date_gain[pick.place, pick.prompt] for pick in held])
    joins = np.array([standing.is_join(pick.place) for pick in held], dtype=bool)
    first = brought_forward(gain, days[[pick.place for pick in held]], room, joins)
    return [replace(held[row], why="for a date that is near") for row in first], held


def date_gain_now(
    session: Session, uuids: Sequence[str], joins: Sequence[Join], beliefs: Beliefs
) -> DateGain | None:
    """Return what asking now does for the dates near, ``None`` where there are no dates.

    A date names a join when it names the tune the join leads to.

    Args:
        session: The open repertoire.
        uuids: T identities, the joins last.
        joins: The joins.
        beliefs: T beliefs in that order.
    """
    if not dates_of(session):
        return None
    rows = (*uuids[: len(uuids) - len(joins)], *(second for _, second in joins))
    until = days_until(rows, dates_of(session).values(), session.sets, session.day())
    return date_gain(beliefs, session.now_days(), session.params, until)
