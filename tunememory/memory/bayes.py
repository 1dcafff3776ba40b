"""What one level says about one strand: likelihood and posterior moments.

Everything here is elementwise and, by the exact rule, uses the portable ``exp``, so that a belief
comes out the same to the bit alone or in a batch.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.portable import exp, log
from tunememory.memory.quadrature import NODES, WEIGHTS, normal_nodes

if TYPE_CHECKING:
    from collections.abc import Callable

    from tunememory.memory.arrays import Floats, Ints
    from tunememory.memory.parameters import Curve, Parameters

SMALLEST_VARIANCE = 1e-6
"""Floor of a posterior variance, far below any reached in use."""

_UNHEARD_OF = 1e-12
"""Added to the chance of a middle level, so that none is ever impossible."""

_OPEN_END = 1e200
"""Stands for the cut above the highest level."""

FAILED, CAME = 4, 5
"""Outcomes of which only this much is known: level 1 or 2, level 3 or 4."""

_FEW = 64
"""Rows up to which running sums are the quicker way."""

_LIMIT = 230.0
"""Exponents stop here, as in the portable ``exp``."""


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """How expectations over x are worked out.

    Attributes:
        nodes: Of Gauss-Hermite quadrature, with ``weights``.
        weights: Sum to 1.
        exp: Exponential function.
        log: Natural logarithm.
        sums: Turns weights (n,) and values (n, R) into weighted sums (R,).
    """

    nodes: tuple[float, ...]
    weights: tuple[float, ...]
    exp: Callable[[Floats], Floats]
    log: Callable[[Floats], Floats]
    sums: Callable[[Floats, Floats], Floats]


def _in_order(weights: Floats, values: Floats) -> Floats:
    # One after the other: the order in which a library sums is its own affair, but not that of
    # running sums. They spare a single tune the loop, and are slower for many.
    if values.shape[1] <= _FEW:
        running: Floats = np.add.accumulate(weights[:, None] * values)[-1]
        return running
    total: Floats = np.zeros_like(values[0])
    for weight, value in zip(weights, values, strict=True):
        total += weight * value
    return total


def _fast_exp(x: Floats) -> Floats:
    return np.asarray(np.exp(np.minimum(x, _LIMIT)))


EXACT = Rule(NODES, WEIGHTS, exp, log, _in_order)
"""For beliefs that are kept or shown: the same bits on every machine."""

FAST = Rule(*normal_nodes(11), _fast_exp, np.log, np.matmul)
"""For searching among parameters."""


def posterior(
    mean: Floats,
    variance: Floats,
    log_time: Floats,
    y: Ints,
    params: Parameters | Curve,
    rule: Rule = EXACT,
) -> tuple[Floats, Floats, Floats]:
    """Condition x on the outcomes ``y`` (level - 1, 0 to 3).

    Args:
        mean: (R,) prior means of x.
        variance: (R,) prior variances, positive.
        log_time: (R,) logarithm of the felt days since exposure.
        y: (R,) outcomes, or ``FAILED`` or ``CAME``.
        params: The player's parameters.
        rule: How to work out the expectations.

    Returns:
        (R,) predictive chance of the outcome, posterior mean, posterior variance.
    """
    spread = np.sqrt(variance)
    inverse_odds = _inverse_odds(mean, spread, log_time, params, rule)
    # P(y >= k) = lapse/2 + (1-lapse)/(1 + e_k/odds); the chance of y is a difference of two.
    join_in, kick_off = (rule.exp(np.atleast_1d(cut)) for cut in (params.join_in, params.kick_off))
    lowest, middle = (y == 0) | (y == FAILED), (y == 1) | (y == FAILED)
    lower = np.where(lowest, 0.0, np.where(y == 1, join_in, np.where(y == 3, kick_off, 1.0)))
    upper = np.where(y == 0, join_in, np.where(middle, 1.0, np.where(y == 2, kick_off, _OPEN_END)))
    likelihood = 1.0 / (1.0 + inverse_odds * lower) - 1.0 / (1.0 + inverse_odds * upper)
    likelihood *= 1.0 - params.lapse
    likelihood += np.where((y == 1) | (y == 2), _UNHEARD_OF, 0.5 * params.lapse)
    nodes, weights = np.array(rule.nodes), np.array(rule.weights)
    total = rule.sums(weights, likelihood)
    first = rule.sums(weights * nodes, likelihood)
    second = rule.sums(weights * nodes * nodes, likelihood)
    first /= total
    second /= total
    after = np.maximum(variance * (second - first * first), SMALLEST_VARIANCE)
    return total, mean + spread * first, after


def success(
    mean: Floats,
    variance: Floats,
    log_time: Floats,
    params: Parameters | Curve,
    rule: Rule = EXACT,
) -> Floats:
    """(R,) chance of a level of 3 or 4, integrated over x; arguments as for ``posterior``."""
    inverse_odds = _inverse_odds(mean, np.sqrt(variance), log_time, params, rule)
    total = rule.sums(np.array(rule.weights), 1.0 / (1.0 + inverse_odds))
    return 0.5 * params.lapse + (1.0 - params.lapse) * total


def _inverse_odds(
    mean: Floats, spread: Floats, log_time: Floats, params: Parameters | Curve, rule: Rule
) -> Floats:
    nodes = np.array(rule.nodes)[:, None]
    return rule.exp(params.slope * (log_time - mean) - nodes * (params.slope * spread))
