"""How likely each tune of a date can be started on the day."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from tunememory.dates.agenda import load
from tunememory.recall.chances import start_chances
from tunememory.recall.forgetting import (
    NODES,
    WEIGHTS,
    chance,
    elapsed_days,
    felt_days,
    success_curve,
    widening,
)
from tunememory.recall.state import SAFE

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from tunememory.recall.belief import Beliefs
    from tunememory.recall.parameters import Parameters


ENOUGH = 0.5
"""Share of a date's tunes that should be able to be ready; below it some are better left out."""

_FEWEST_KEPT = 1 / 3
"""Share of the tunes that is never advised to be left out."""


class Readiness(StrEnum):
    """How a tune stands for a date."""

    READY = "ready"
    WILL_BE = "ready if the plan is kept"
    NOT_YET = "not yet"


@dataclass(frozen=True, slots=True)
class Days:
    """The time there is until a date.

    Attributes:
        now: This moment on the model's scale of days.
        today: The present practice day.
        on: The day of the date, not before ``today``.
        playing: Practice days from today on that are not off, ascending.
        prompts: How many of the date's tunes can be asked on a day that is all theirs.
    """

    now: float
    today: date
    on: date
    playing: tuple[date, ...]
    prompts: float

    def at(self, day: date) -> float:
        """The moment on the model's scale that lies on ``day``."""
        return self.now + (day - self.today).days


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """What is to be expected of T tunes on the day.

    Attributes:
        untouched: (T,) chance of starting each if nothing is done.
        kept: (T,) the same if the plan is kept.
        asked: (T,) how often the plan asks each.
    """

    untouched: NDArray[np.float64]
    kept: NDArray[np.float64]
    asked: NDArray[np.int64]

    @property
    def ready(self) -> int:
        """How many will be ready if the plan is kept."""
        return int((self.kept >= SAFE).sum())

    def of(self, row: int) -> Readiness:
        """How one tune stands."""
        if self.untouched[row] >= SAFE:
            return Readiness.READY
        return Readiness.WILL_BE if self.kept[row] >= SAFE else Readiness.NOT_YET


def forecast(beliefs: Beliefs, params: Parameters, days: Days) -> Forecast:
    """Foretell the tunes of a date.

    Args:
        beliefs: About the T tunes of the date.
        params: The player's parameters.
        days: The time there is.
    """
    on = days.at(days.on)
    untouched = start_chances(chance(beliefs, on, params), beliefs.present)
    asked_at = schedule(untouched, days)
    kept = start_chances(if_asked(beliefs, asked_at, on, params), beliefs.present)
    return Forecast(untouched, kept, np.isfinite(asked_at).sum(axis=1))


def schedule(untouched: NDArray[np.float64], days: Days) -> NDArray[np.float64]:
    """Return when a plan that works backwards from the date asks each tune.

    Each playing day before the date has room for some of its tunes (``dates.load``); they go to
    those asked least so far, the weakest first.

    Args:
        untouched: (T,) chance on the day of each tune if nothing is done.
        days: The time there is.

    Returns:
        (T, K) moments on the model's scale, ascending along each row and filled up with nan.
    """
    times: list[list[float]] = [[] for _ in untouched]
    room = 0.0
    for day in days.playing:
        if day < days.on:
            room += days.prompts * load((days.on - day).days)
            order = sorted(range(len(times)), key=lambda row: (len(times[row]), untouched[row]))
            for row in order[: int(room)]:
                times[row].append(days.at(day))
            room -= int(room)
    plan = np.full((len(times), max(map(len, times), default=0)), np.nan)
    for row, moments in enumerate(times):
        plan[row, : len(moments)] = moments
    return plan


def if_asked(
    beliefs: Beliefs, asked_at: NDArray[np.float64], on: float, params: Parameters
) -> NDArray[np.float64]:
    """Return (T, F) chances at ``on`` if each tune is asked at the moments given.

    Each node of the belief is carried through the checks by the growth expected there, over the
    level that may come (``memory.update``); what a check would tell us changes nothing on average.
    Within .03 of simulated players that learn as the model says.

    Args:
        beliefs: T tunes, F columns.
        asked_at: (T, K) moments, ascending, not more than one a day; nan for none.
        on: The moment foretold.
        params: The player's parameters.
    """
    nodes = np.array(NODES)[:, None, None]
    weights = np.array(WEIGHTS)[:, None, None]
    x = beliefs.mean + nodes * np.sqrt(beliefs.variance)
    noise = np.zeros(beliefs.mean.shape)
    exposed = beliefs.exposed_at.copy()
    for k in range(asked_at.shape[1]):
        asked = np.isfinite(asked_at[:, k])[:, None] & beliefs.present
        at = np.where(asked, asked_at[:, k, None], exposed)
        elapsed = elapsed_days(exposed, at)
        noise += np.where(asked, widening(elapsed, params), 0.0)
        z = params.slope * (x - np.log(felt_days(elapsed, params)))
        success = _lapsed(success_curve(z * _shrink(noise, params)), params)
        best = _lapsed(success_curve((z - params.kick_off) * _shrink(noise, params)), params)
        p = (weights * success).sum(axis=0)
        grown = params.gain * (1.0 - p) ** params.gain_power + params.gain_floor
        gain = grown * (best + params.gain_found * (success - best))
        gain += params.gain_failed * (1.0 - success)
        x = x + np.where(asked, gain, 0.0)
        noise += np.where(asked, params.gain_noise, 0.0)
        exposed = np.where(asked, at, exposed)
    elapsed = elapsed_days(exposed, on)
    noise += widening(elapsed, params)
    z = params.slope * (x - np.log(felt_days(elapsed, params))) * _shrink(noise, params)
    later = (weights * _lapsed(success_curve(z), params)).sum(axis=0)
    return np.where(beliefs.present, later, np.nan)


def leave_out(beliefs: Beliefs, params: Parameters, days: Days) -> tuple[int, ...]:
    """Return the tunes to leave out so that half of the rest can be ready, weakest first.

    Empty where half can be ready as it is. The time of a tune left out goes to the others; at
    least a third of the tunes stays.

    Args:
        beliefs: About the tunes of the date.
        params: The player's parameters.
        days: The time there is.
    """
    staying = list(range(len(beliefs.mean)))
    out: list[int] = []
    fewest = max(1, int(np.ceil(_FEWEST_KEPT * len(staying))))
    while len(staying) > fewest:
        said = forecast(beliefs.rows(np.array(staying)), params, days)
        if said.ready >= ENOUGH * len(staying):
            break
        out.append(staying.pop(int(said.kept.argmin())))
    return tuple(out)


def _shrink(variance: NDArray[np.float64], params: Parameters) -> NDArray[np.float64]:
    """Scale that stands for integrating a logistic over a normal (MacKay 1992)."""
    return np.asarray(1.0 / np.sqrt(1.0 + np.pi / 8.0 * params.slope**2 * variance))


def _lapsed(p: NDArray[np.float64], params: Parameters) -> NDArray[np.float64]:
    return 0.5 * params.lapse + (1.0 - params.lapse) * p
