"""How the chance of each level falls with time.

The odds of success fall as a power of time (Anderson & Schooler 1991, Psychological Science 2,
396-408), the levels are ordinal (Samejima 1969, Psychometrika Monograph 17), and a lapse share
of levels says nothing about memory::

    P(y >= k | x, t) = lapse/2 + (1 - lapse) sigma(slope (x - ln t) - c_k),  k = 1, 2, 3

with y = level - 1, x = ln S, c_2 = 0. Every chance is integrated over the belief about x.
"""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tunememory.recall.state import RANGE

if TYPE_CHECKING:
    from collections.abc import Callable

    from tunememory.recall.belief import Beliefs
    from tunememory.recall.parameters import Curve, Parameters


Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def normal_nodes(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return nodes and weights with sum w f(m + s z) ≈ E f(x), x normal with mean m and SD s.

    Exact for polynomials up to degree ``2 count - 1``. Rounded to 13 decimals: the nodes come
    from an eigenvalue routine whose last bits differ between machines, and beliefs may not.
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    weights = weights / np.sqrt(2.0 * np.pi)
    return (
        tuple(float(z) for z in np.round(nodes, 13)),
        tuple(float(w) for w in np.round(weights, 13)),
    )


NODES, WEIGHTS = normal_nodes(21)
"""Used wherever a belief is updated or shown."""

SHORTEST = 0.01
"""Days added to every elapsed time, so that its logarithm exists (about a quarter of an hour)."""

GAP = 21.0
"""Days unobserved after which a belief begins to widen: three weeks without playing."""

_FEW = 256
"""Strands up to which all nodes at once are the quicker way."""


def elapsed_days(exposed_at: Floats, at: float | Floats) -> Floats:
    """Days from an exposure to ``at``; never negative (a clock set back), 0 without exposure."""
    return np.asarray(np.maximum(np.where(np.isnan(exposed_at), 0.0, at - exposed_at), 0.0))


def felt_days(elapsed: Floats, params: Parameters) -> Floats:
    """Elapsed days as memory counts them, positive.

    Time right after an exposure (``sitting``) is spent on other tunes, which forgets faster
    (``haste``; Pavlik & Anderson 2005 scale time outside a session down instead).
    """
    return SHORTEST + elapsed + (params.haste - 1.0) * np.minimum(elapsed, params.sitting)


def widening(
    elapsed: Floats, params: Parameters, log: Callable[[Floats], Floats] = np.log
) -> Floats:
    """Variance that an unobserved stretch adds to x; 0 up to three weeks.

    After a gap in playing we know less, in both directions: the tune may have been played
    unrecorded, or buried under others. Grows with the logarithm of the gap; own choice. Where the
    last bit counts, ``log`` is the portable one.
    """
    beyond = np.maximum(elapsed - GAP, 0.0) / GAP
    return params.gap_widening / 0.6931471805599453 * log(1.0 + beyond)


def success_curve(z: Floats) -> Floats:
    """Logistic function of ``z``, safe at any size."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(z, -690.0, 690.0))))


def lapsed(p: Floats, params: Parameters | Curve) -> Floats:
    """Chance of a level, of ``p`` by memory alone: a lapse falls either way."""
    return 0.5 * params.lapse + (1.0 - params.lapse) * p


def shrink(variance: Floats, params: Parameters) -> Floats:
    """Scale of a logistic argument that stands for integrating over a normal ``variance``.

    MacKay (1992), Neural Computation 4, 720-736.
    """
    return np.asarray(1.0 / np.sqrt(1.0 + np.pi / 8.0 * params.slope**2 * variance))


def mean_success(
    mean: Floats, variance: Floats, log_time: Floats, params: Parameters, cut: float = 0.0
) -> Floats:
    """E sigma(slope (x - ln t) - cut) with the lapse, x normal. Any shape, elementwise."""
    spread = params.slope * np.sqrt(variance)
    centre = params.slope * (mean - log_time) - cut
    if centre.size <= _FEW:
        nodes, weights = (np.reshape(each, (-1, *(1,) * centre.ndim)) for each in (NODES, WEIGHTS))
        total: Floats = (weights * success_curve(centre + nodes * spread)).sum(axis=0)
    else:
        total = np.zeros_like(centre)
        for node, weight in zip(NODES, WEIGHTS, strict=True):
            total += weight * success_curve(centre + node * spread)
    return lapsed(total, params)


def chance(beliefs: Beliefs, at: float | Floats, params: Parameters) -> Floats:
    """(T, F) chance of a level of 3 or 4 at ``at``, integrated over x; nan where absent."""
    mean, variance, log_time = _at(beliefs, at, params)
    return np.where(beliefs.present, mean_success(mean, variance, log_time, params), np.nan)


def chance_range(
    beliefs: Beliefs, at: float, params: Parameters, width: float = RANGE
) -> tuple[Floats, Floats]:
    """(T, F) ends of the middle ``width`` of what we believe the chance to be; nan if absent."""
    mean, variance, log_time = _at(beliefs, at, params)
    reach = NormalDist().inv_cdf(0.5 + width / 2.0) * np.sqrt(variance)
    ends = []
    for x in (mean - reach, mean + reach):
        p = lapsed(success_curve(params.slope * (x - log_time)), params)
        ends.append(np.where(beliefs.present, p, np.nan))
    return ends[0], ends[1]


def _at(beliefs: Beliefs, at: float | Floats, params: Parameters) -> tuple[Floats, Floats, Floats]:
    elapsed = elapsed_days(beliefs.exposed_at, at)
    variance = beliefs.variance + widening(elapsed, params)
    return beliefs.mean, variance, np.log(felt_days(elapsed, params))
