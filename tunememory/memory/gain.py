"""What asking for a strand now is worth later."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.forgetting import (
    elapsed_days,
    felt_days,
    mean_success,
    success_curve,
    widening,
)
from tunememory.memory.quadrature import normal_nodes

if TYPE_CHECKING:
    from tunememory.memory.arrays import Floats
    from tunememory.memory.belief import Beliefs
    from tunememory.memory.parameters import Parameters

_NODES, _WEIGHTS = normal_nodes(7)


def strand_gain(
    beliefs: Beliefs, at: float, params: Parameters, horizon_days: float, day: int = 0
) -> Floats:
    """Return how much a check at ``at`` would raise the chance of success at the horizon.

    Expected chance of a level of 3 or 4 ``horizon_days`` later if the strand is asked now, less
    the same if it is not, over the belief about x and over the level that would come. Only the
    strand's own gain: what a check tells of its neighbours is left out. By 7-point quadrature
    and a scaled logistic for added variance (MacKay 1992, Neural Computation 4, 720-736); within
    .005 of a fine grid.

    Args:
        beliefs: T tunes, F columns.
        at: Days since the epoch.
        params: The player's parameters.
        horizon_days: Days after ``at``, positive.
        day: Ordinal of the practice day, for the smaller gain of a repeat; 0 if there was none.

    Returns:
        (T, F) differences, mostly 0 to 1; nan where absent.
    """
    elapsed = elapsed_days(beliefs.exposed_at, at)
    variance = beliefs.variance + widening(elapsed, params)
    now = np.log(felt_days(elapsed, params))
    p = mean_success(beliefs.mean, variance, now, params)

    gains = np.where(beliefs.gained_day == day, beliefs.gains, 0) if day else 0
    left = np.where(gains == 0, 1.0, np.where(gains == 1, params.same_day, 0.0))
    grown = (params.gain * (1.0 - p) ** params.gain_power + params.gain_floor) * left
    kicked_off = params.slope * grown
    found = params.slope * params.gain_found * grown
    failed = params.slope * params.gain_failed * left

    if_asked = np.log(felt_days(np.asarray(horizon_days), params))
    if_not = np.log(felt_days(elapsed + horizon_days, params))
    asked_scale = _shrink(
        params.gain_noise * left + widening(np.asarray(horizon_days), params), params
    )
    not_scale = _shrink(
        np.maximum(widening(elapsed + horizon_days, params) - widening(elapsed, params), 0.0),
        params,
    )
    centre = params.slope * beliefs.mean
    spread = params.slope * np.sqrt(variance)
    total = np.zeros_like(centre)
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        x = centre + node * spread
        z = x - params.slope * now
        success = _lapsed(success_curve(z), params)
        best = _lapsed(success_curve(z - params.kick_off), params)
        later = x - params.slope * if_asked
        asked = best * success_curve((later + kicked_off) * asked_scale)
        asked += (success - best) * success_curve((later + found) * asked_scale)
        asked += (1.0 - success) * success_curve((later + failed) * asked_scale)
        not_asked = success_curve((x - params.slope * if_not) * not_scale)
        total += weight * (asked - not_asked)
    total *= 1.0 - params.lapse
    return np.where(beliefs.present, total, np.nan)


def _shrink(variance: Floats, params: Parameters) -> Floats:
    """Scale of a logistic argument that stands for integrating over a normal ``variance``."""
    return np.asarray(1.0 / np.sqrt(1.0 + np.pi / 8.0 * params.slope**2 * variance))


def _lapsed(p: Floats, params: Parameters) -> Floats:
    return 0.5 * params.lapse + (1.0 - params.lapse) * p
