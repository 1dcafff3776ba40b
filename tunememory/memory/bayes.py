"""What one level says about one strand: likelihood and posterior moments.

Everything here is elementwise and uses the portable ``exp``, so that a belief comes out the
same to the bit alone or in a batch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.portable import exp
from tunememory.memory.quadrature import NODES, WEIGHTS

if TYPE_CHECKING:
    from tunememory.memory.arrays import Floats, Ints
    from tunememory.memory.parameters import Parameters

SMALLEST_VARIANCE = 1e-6
"""Floor of a posterior variance, far below any reached in use."""

_UNHEARD_OF = 1e-12
"""Added to the chance of a middle level, so that none is ever impossible."""

_OPEN_END = 1e200
"""Stands for the cut above the highest level."""

_NODES = np.array(NODES)[:, None]


def posterior(
    mean: Floats, variance: Floats, log_time: Floats, y: Ints, params: Parameters
) -> tuple[Floats, Floats, Floats]:
    """Condition x on the outcomes ``y`` (level - 1, 0 to 3).

    Args:
        mean: (R,) prior means of x.
        variance: (R,) prior variances, positive.
        log_time: (R,) logarithm of the felt days since exposure.
        y: (R,) outcomes.
        params: The player's parameters.

    Returns:
        (R,) predictive chance of the outcome, posterior mean, posterior variance, by 21-point
        Gauss-Hermite quadrature.
    """
    spread = np.sqrt(variance)
    inverse_odds = _inverse_odds(mean, spread, log_time, params)
    # P(y >= k) = lapse/2 + (1-lapse)/(1 + e_k/odds); the chance of y is a difference of two.
    join_in, kick_off = exp(np.atleast_1d(params.join_in)), exp(np.atleast_1d(params.kick_off))
    lower = np.where(y == 0, 0.0, np.where(y == 1, join_in, np.where(y == 2, 1.0, kick_off)))
    upper = np.where(y == 0, join_in, np.where(y == 1, 1.0, np.where(y == 2, kick_off, _OPEN_END)))
    likelihood = 1.0 / (1.0 + inverse_odds * lower) - 1.0 / (1.0 + inverse_odds * upper)
    likelihood *= 1.0 - params.lapse
    likelihood += np.where((y == 0) | (y == 3), 0.5 * params.lapse, _UNHEARD_OF)
    total = np.zeros_like(mean)
    first = np.zeros_like(mean)
    second = np.zeros_like(mean)
    for i, (node, weight) in enumerate(zip(NODES, WEIGHTS, strict=True)):
        mass = weight * likelihood[i]
        total += mass
        first += mass * node
        second += mass * (node * node)
    first /= total
    second /= total
    after = np.maximum(variance * (second - first * first), SMALLEST_VARIANCE)
    return total, mean + spread * first, after


def success(mean: Floats, variance: Floats, log_time: Floats, params: Parameters) -> Floats:
    """(R,) chance of a level of 3 or 4, integrated over x, portable to the bit."""
    inverse_odds = _inverse_odds(mean, np.sqrt(variance), log_time, params)
    p = 1.0 / (1.0 + inverse_odds)
    total = np.zeros_like(mean)
    for i, weight in enumerate(WEIGHTS):
        total += weight * p[i]
    return 0.5 * params.lapse + (1.0 - params.lapse) * total


def _inverse_odds(mean: Floats, spread: Floats, log_time: Floats, params: Parameters) -> Floats:
    return exp(params.slope * (log_time - mean) - _NODES * (params.slope * spread))
