"""Living some days ahead: levels drawn from what is believed, and believed like real ones.

What a belief expects of itself is itself, so no hidden truth has to be made up. Of each tune one
strand is followed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from tunememory.memory.belief import Beliefs
from tunememory.memory.forgetting import (
    elapsed_days,
    felt_days,
    mean_success,
    success_curve,
    widening,
)
from tunememory.memory.update import EventRows, advance

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tunememory.memory.parameters import Parameters

_SINGLE = ("mean", "exposed_at", "gained_day", "gains", "checks", "present")
_CHANGING = ("mean", "cov", "exposed_at", "gained_day", "gains", "checks")


def alone(beliefs: Beliefs, rows: NDArray[np.int64], column: NDArray[np.int64]) -> Beliefs:
    """One column of each of these rows: beliefs of one column."""
    single: dict[str, Any] = {
        name: getattr(beliefs, name)[rows, column][:, None] for name in _SINGLE
    }
    return Beliefs(**single, cov=beliefs.cov[rows, column, column][:, None, None])


def joined(blocks: Sequence[Beliefs]) -> Beliefs:
    """Beliefs one after the other; all of the same columns."""
    whole: dict[str, Any] = {
        name: np.concatenate([getattr(block, name) for block in blocks])
        for name in (*_SINGLE, "cov")
    }
    return Beliefs(**whole)


def thinned(now: Beliefs, most: int) -> tuple[Beliefs, float]:
    """Every so-manieth tune in the order of stability, and the share of all that they are."""
    have = len(now.mean)
    if have <= most:
        return now, 1.0
    by_mean = np.argsort(now.mean[:, 0], kind="stable")
    return now.rows(np.sort(by_mean[(np.arange(most) * have) // most])), most / have


def chances(beliefs: Beliefs, at: float, params: Parameters) -> NDArray[np.float64]:
    """(R,) chance of a level of 3 or 4 of the one strand; parameters may differ by row."""
    elapsed = elapsed_days(beliefs.exposed_at[:, 0], at)
    variance = beliefs.cov[:, 0, 0] + widening(elapsed, params)
    log_time = np.log(felt_days(elapsed, params))
    return mean_success(beliefs.mean[:, 0], variance, log_time, params)


def ask(
    beliefs: Beliefs,
    rows: NDArray[np.int64],
    when: NDArray[np.float64],
    days: NDArray[np.int64],
    params: Parameters,
    *,
    normal: NDArray[np.float64],
    uniform: NDArray[np.float64],
) -> None:
    """Ask for these rows, each once: draw a level that is believed likely, and believe it.

    Args:
        beliefs: R strands, changed in place.
        rows: (N,) which are asked, each at most once.
        when: (N,) days since the epoch.
        days: (N,) ordinals of practice days.
        params: Of each row.
        normal: (N,) luck of what x is.
        uniform: (N,) luck of the level given x.
    """
    own = params.of_rows(rows)
    some = beliefs.rows(rows)
    elapsed = elapsed_days(some.exposed_at[:, 0], when)
    variance = some.cov[:, 0, 0] + widening(elapsed, own)
    x = some.mean[:, 0] + np.sqrt(variance) * normal
    z = own.slope * (x - np.log(felt_days(elapsed, own)))
    u = (uniform - 0.5 * own.lapse) / (1.0 - own.lapse)
    cuts = (own.join_in, 0.0, own.kick_off)
    level = 1 + np.sum([u < success_curve(z - cut) for cut in cuts], axis=0)
    event = EventRows(
        at=when,
        day=days,
        level=level[:, None],
        exposed=np.zeros((len(rows), 1), dtype=np.bool_),
        minutes=np.zeros(len(rows)),
    )
    advance(some, event, own)
    for name in _CHANGING:
        getattr(beliefs, name)[rows] = getattr(some, name)
