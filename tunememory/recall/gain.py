"""What asking for a strand now is worth.

Asking lifts the curve of forgetting from now on. Greedy gain at one fixed horizon is the usual
measure, but it neglects what was asked lately and what has waited long alike: measured on
simulated players it lost to going round in order. Here the horizon is the strand's own: the
area won until as much time has passed again as has passed since it was last met. (For a curve
that a check resets and does not change, this is what the index of Whittle 1988, Journal of
Applied Probability 25A, 287-298, comes to.) To that comes the worth of growth: a strand that
grows will need fewer checks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from tunememory.recall.forgetting import (
    elapsed_days,
    felt_days,
    lapsed,
    normal_nodes,
    shrink,
    widening,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.recall.belief import Beliefs
    from tunememory.recall.forgetting import Floats
    from tunememory.recall.parameters import Parameters


GROWTH_DAYS = 21.0
"""Days over which growth is counted without focus; each step of focus doubles them. Longer was
better where every success multiplies memory, and worse elsewhere (on simulated players)."""

FOCUSED_SLOPE = 1.1
"""Least slope to plan with, for each step of focus (chosen on simulated players)."""

EVEN_SLOPE = 0.6
"""Largest slope to plan with when there is no focus: how long tunes last is known so roughly that
a steep curve would rank them by what is not known (chosen on simulated players)."""

SHORTEST_GAP = 7.0
"""Days: growth is not counted as saving more than a check a week."""

_NODES, _WEIGHTS = normal_nodes(5)
_CHANCE_NODES, _CHANCE_WEIGHTS = normal_nodes(9)
_BLOCK = 1000
"""Tunes worked on together, so that their arrays stay in the cache."""

_MOST = 200.0
"""Inverse odds stop at e^200."""
_OWN_GAP = ((0.1127016653792583, 5.0 / 18.0), (0.5, 8.0 / 18.0), (0.8872983346207417, 5.0 / 18.0))
"""Gauss-Legendre places and weights on the unit interval."""


def gain_parts(
    beliefs: Beliefs, at: float, params: Parameters, day: int = 0
) -> tuple[Floats, Floats]:
    """Return what a check of each strand at ``at`` would win, in two parts.

    Everything is an expectation over the belief about x and over the level that would come,
    by 5-point quadrature; added variance by a scaled logistic. Only the strand's own gain: what
    a check tells of its neighbours is left out.

    Args:
        beliefs: T tunes, F columns.
        at: Days since the epoch.
        params: The player's parameters (or of each tune, ``parameters.side_by_side``).
        day: Ordinal of the practice day, for the smaller gain of a repeat; 0 if there was none.

    Returns:
        keeping: (T, F) days callable won until the strand's own gap has passed again, 0 or
            above but for rounding; nan where absent.
        growing: (T, F) growth of log stability expected from a success, times the doubt about
            it, for each gap of its length in the days growth counts; nan where absent.
    """
    keeping = np.full(beliefs.mean.shape, np.nan)
    growing = np.full(beliefs.mean.shape, np.nan)
    for begin in range(0, len(keeping), _BLOCK):
        some = slice(begin, begin + _BLOCK)
        part = beliefs.between(begin, begin + _BLOCK)
        own = params.of_rows(some)
        # A fitted slope is flattened by all that differs between checks and is not in the
        # model; with it too much time goes to tunes that will not come.
        steep = np.maximum(own.slope, FOCUSED_SLOPE * own.focus)
        even = np.minimum(own.slope, EVEN_SLOPE)
        slope: Any = np.where(np.greater(own.focus, 0.0), steep, even)
        own = replace(own, slope=slope)
        kept, grown = _gain_parts(_Now.of(part, at, own, day))
        keeping[some] = np.where(part.present, kept.T, np.nan)
        growing[some] = np.where(part.present, grown.T, np.nan)
    return keeping, growing


def ask_value(keeping: Floats, growing: Floats, checks: int) -> Floats:
    """Return the worth of asking for each strand, in days callable.

    Growth is worth the checks it saves, and a check is worth what the last tune that still
    finds room today would win.

    Args:
        keeping: (..., T, F) from ``gain_parts``, for the tunes that may be asked.
        growing: (..., T, F) from ``gain_parts``.
        checks: Prompts there is time for in a day, 1 or more.

    Returns:
        (..., T, F); nan where absent. The worth of a prompt is the sum over its strands.
    """
    tunes = keeping.shape[-2]
    if tunes == 0:
        return keeping.copy()
    strands = np.maximum((~np.isnan(keeping)).sum(axis=-1, keepdims=True), 1)
    whole = np.nansum(keeping, axis=-1)
    place = max(tunes - max(checks, 1), 0)
    price = np.partition(whole, place, axis=-1)[..., place, None, None]
    value: Floats = keeping + np.maximum(price, 0.0) / strands * growing
    return value


def strand_gain(
    beliefs: Beliefs, at: float, params: Parameters, horizon_days: float, day: int = 0
) -> Floats:
    """Return how much a check at ``at`` would raise the chance of success at one later moment.

    Expected chance of a level of 3 or 4 ``horizon_days`` later if the strand is asked now, less
    the same if it is not. For aims with a date; within .005 of a fine grid.

    Args:
        beliefs: T tunes, F columns.
        at: Days since the epoch.
        params: The player's parameters (or of each tune, ``parameters.side_by_side``).
        horizon_days: Days after ``at``, 0 or more.
        day: Ordinal of the practice day, for the smaller gain of a repeat; 0 if there was none.

    Returns:
        (T, F) differences, mostly 0 to 1; nan where absent.
    """
    now = _Now.of(beliefs, at, params, day)
    won = now.won([(1.0, np.full_like(now.felt, horizon_days))])
    return np.where(beliefs.present, won.T, np.nan)


def _gain_parts(now: _Now) -> tuple[Floats, Floats]:
    gap, p = now.felt, now.params
    keeping = gap * now.won([(weight, moment * gap) for moment, weight in _OWN_GAP])
    best = _mean_success(now.mean, now.variance, gap, p, cut=p.kick_off)
    grown = (best + p.gain_found * (now.chance - best)) * now.grown
    gaps = GROWTH_DAYS * 2.0**p.focus / np.maximum(gap, SHORTEST_GAP)
    growing = gaps * grown * (1.0 - now.chance)
    return keeping, growing


@dataclass(frozen=True, slots=True, eq=False)
class _Now:
    """Beliefs at one moment, strands first (F, T), and what each level would do to them."""

    params: Parameters
    mean: Floats
    variance: Floats
    elapsed: Floats
    felt: Floats
    left: Floats
    chance: Floats
    grown: Floats

    @classmethod
    def of(cls, beliefs: Beliefs, at: float, params: Parameters, day: int) -> _Now:
        elapsed = elapsed_days(beliefs.exposed_at.T, at)
        mean = np.ascontiguousarray(beliefs.mean.T)
        variance = beliefs.variance.T + widening(elapsed, params)
        felt = felt_days(elapsed, params)
        gains = np.where(day == beliefs.gained_day.T, beliefs.gains.T, 0) if day else 0
        left = np.where(gains == 0, 1.0, np.where(gains == 1, params.same_day, 0.0))
        left = np.broadcast_to(left, mean.shape)
        chance = _mean_success(mean, variance, felt, params, cut=0.0)
        grown = (params.gain * (1.0 - chance) ** params.gain_power + params.gain_floor) * left
        grown = grown * np.exp(-params.gain_wane * np.maximum(mean - params.just_learned, 0.0))
        return cls(params, mean, variance, elapsed, felt, left, chance, grown)

    def won(self, moments: Sequence[tuple[float, Floats]]) -> Floats:
        """(F, T) expected chance if asked less the same if not, summed over weighted moments.

        Moments are ``(weight, (F, T) days from now)``.
        """
        p = self.params
        after = [(weight, _After.of(self, later)) for weight, later in moments]
        slope_now = p.slope * np.log(self.felt)
        spread = np.sqrt(self.variance)
        cut = np.exp(p.kick_off)
        total = np.zeros_like(self.mean)
        for node, node_weight in zip(_NODES, _WEIGHTS, strict=True):
            x = self.mean + node * spread
            inverse = np.exp(np.minimum(slope_now - p.slope * x, _MOST))
            success = lapsed(1.0 / (1.0 + inverse), p)
            best = lapsed(1.0 / (1.0 + inverse * cut), p)
            found = success - best
            failed = 1.0 - success
            for weight, then in after:
                inverse = np.exp(np.minimum(then.asked_time - then.asked * x, _MOST))
                won = best / (1.0 + inverse * then.by_best)
                won += found / (1.0 + inverse * then.by_found)
                won += failed / (1.0 + inverse * then.by_failure)
                won -= 1.0 / (1.0 + np.exp(np.minimum(then.not_time - then.not_asked * x, _MOST)))
                won *= weight * node_weight
                total += won
        return (1.0 - p.lapse) * total


@dataclass(frozen=True, slots=True, eq=False)
class _After:
    """What holds at one later moment whatever x is (F, T).

    Odds of failure are e^(time - slope x); what a level adds to x divides them.
    """

    asked: Floats
    asked_time: Floats
    not_asked: Floats
    not_time: Floats
    by_best: Floats
    by_found: Floats
    by_failure: Floats

    @classmethod
    def of(cls, now: _Now, later: Floats) -> _After:
        p = now.params
        wider = widening(now.elapsed + later, p) - widening(now.elapsed, p)
        asked = p.slope * shrink(p.gain_noise * now.left + widening(later, p), p)
        not_asked = p.slope * shrink(np.maximum(wider, 0.0), p)
        return cls(
            asked=asked,
            asked_time=asked * np.log(felt_days(later, p)),
            not_asked=not_asked,
            not_time=not_asked * np.log(felt_days(now.elapsed + later, p)),
            by_best=np.exp(-asked * now.grown),
            by_found=np.exp(-asked * p.gain_found * now.grown),
            by_failure=np.exp(-asked * p.gain_failed * now.left),
        )


def _mean_success(
    mean: Floats, variance: Floats, felt: Floats, params: Parameters, *, cut: float
) -> Floats:
    """Chance of passing ``cut``, by fewer nodes than where it is shown: within .001."""
    time = params.slope * np.log(felt) + cut
    spread = np.sqrt(variance)
    total = np.zeros_like(mean)
    for node, weight in zip(_CHANCE_NODES, _CHANCE_WEIGHTS, strict=True):
        inverse = np.exp(np.minimum(time - params.slope * (mean + node * spread), _MOST))
        total += weight / (1.0 + inverse)
    return lapsed(total, params)
