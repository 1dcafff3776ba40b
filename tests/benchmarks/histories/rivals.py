"""What our model is compared with: each is fitted on some learners and foretells others.

Every function takes the learners to fit on and the learners to foretell and returns the chance
of success of each scored test of the latter, from what came before it only.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit, logit

from tests.benchmarks.histories.past import ability, before, counts, sitting_seconds
from tests.benchmarks.histories.reading import STUDY, Histories

RIDGE = 1.0
"""Precision of every weight of a logistic regression but its constant (inputs near unit size)."""

WINDOWS = (300.0, 3600.0, 86400.0, 7 * 86400.0, np.inf)
"""Seconds of the DASH windows: the published 1 and 7 days and ever, and two within a sitting."""


def constant(fit, other):
    return np.full(int(other.scored.sum()), fit.outcome[fit.scored].mean())


def item_mean(fit, other):
    """Mean of the item, drawn towards the overall mean as if by five more tests."""
    return item_means(fit, fit.scored, other)[other.item[other.scored]]


def item_means(fit, rows, other):
    """Shrunken mean of every item of either part over some ``rows`` of ``fit``."""
    size = max(fit.items, other.items)
    y = fit.outcome[rows]
    right = np.bincount(fit.item[rows], weights=y, minlength=size)
    return (right + 5.0 * y.mean()) / (np.bincount(fit.item[rows], minlength=size) + 5.0)


def plain_logistic(fit, other):
    """Logarithm of the lag, counts, last outcome, item, running ability."""

    def inputs(data):
        last = data.outcome[data.last[data.scored]]
        return np.column_stack(
            [
                np.log(data.lag[data.scored]),
                np.log1p(counts(data)[data.scored]),
                last == 1,
                last == STUDY,
                running(fit, data)[data.scored],
            ]
        )

    return logistic(fit, other, inputs)


def dash(fit, other):
    """DASH (Lindsey, Shroyer, Pashler & Mozer 2014, Psychological Science 25, 639-647).

    Correct and attempted tests of the item in windows of time, with the person as a running
    ability instead of a fitted one, because the person was never seen before.
    """

    def inputs(data):
        rows = np.flatnonzero(data.scored)
        past = before(data, rows)
        age = data.seconds[rows][:, None] - data.seconds[past]
        tried = (past >= 0) & (data.outcome[past] != STUDY)
        right = tried & (data.outcome[past] == 1)
        columns = [running(fit, data)[rows]]
        for window in WINDOWS:
            within = age <= window
            columns += [np.log1p((right & within).sum(1)), np.log1p((tried & within).sum(1))]
        return np.column_stack(columns)

    return logistic(fit, other, inputs)


def running(fit, data):
    """Running ability against item means of the fitted learners, first tests by themselves."""
    first = fit.test & ~fit.scored
    again = item_means(fit, fit.scored, data)[data.item]
    new = item_means(fit, first, data)[data.item]
    return ability(data, np.where(data.scored, again, new))


def activation(fit, other, able=False):
    """Activation ln sum r^-d (Anderson & Schooler 1991, Psychological Science 2, 396-408)."""

    def strength(data, free):
        decay, outside = np.exp(free)
        rows = np.flatnonzero(data.scored)
        past = before(data, rows)
        clock = sitting_seconds(data, outside)
        age = np.maximum(clock[rows][:, None] - clock[past], 1.0)
        return np.log(np.where(past >= 0, age**-decay, 0.0).sum(axis=1))

    return by_strength(fit, other, strength, np.log([0.5, 0.025]), able)


def pavlik_anderson(fit, other, able=False):
    """Decay set by the activation at each meeting (Pavlik & Anderson 2005, Cogn. Sci. 29)."""

    def strength(data, free):
        gain, base, outside = np.exp(free)
        clock = sitting_seconds(data, outside)
        rows = np.flatnonzero(data.scored)
        past = before(data, rows)[:, ::-1]  # oldest first
        decays = np.zeros(past.shape)
        at = clock[past]
        for k in range(past.shape[1]):
            m = _log_sum(at[:, k], at[:, :k], decays[:, :k], past[:, :k] >= 0)
            decays[:, k] = base + gain * np.exp(np.minimum(m, 5.0))
        return _log_sum(clock[rows], at, decays, past >= 0)

    return by_strength(fit, other, strength, np.log([0.217, 0.177, 0.025]), able)


def _log_sum(now, at, decays, there):
    age = np.maximum(now[:, None] - at, 1.0)
    total = np.where(there, age**-decays, 0.0).sum(axis=1)
    return np.log(np.maximum(total, 1e-300))


def by_strength(fit, other, strength, start, able):
    """Logistic in a strength with free parameters, and item effects.

    As published it knows nothing of the person; ``able`` gives it the running ability as well.
    """
    y = fit.outcome[fit.scored]
    ease = logit(item_means(fit, fit.scored, other))[fit.item[fit.scored]]

    def inputs(data, free):
        columns = [np.clip(strength(data, free), -50.0, 50.0)]
        return np.column_stack([*columns, running(fit, data)[data.scored]] if able else columns)

    def loss(free):
        x = np.column_stack([inputs(fit, free), ease])
        return _loss(x, y, _weights(x, y))

    corners = np.vstack([start, start + np.eye(len(start))])
    options = {"xatol": 0.02, "fatol": 1e-5, "maxfev": 80, "initial_simplex": corners}
    found = minimize(loss, start, method="Nelder-Mead", options=options).x
    return logistic(fit, other, lambda data: inputs(data, found))


def logistic(fit, other, inputs):
    """Ridge logistic regression on ``inputs`` and one effect for each item."""
    size = max(fit.items, other.items)
    x, z = inputs(fit).astype(float), inputs(other).astype(float)
    mean, scale = x.mean(axis=0), np.maximum(x.std(axis=0), 1e-9)
    design = [
        np.hstack([(part - mean) / scale, np.eye(size)[data.item[data.scored]]])
        for part, data in ((x, fit), (z, other))
    ]
    weights = _weights(design[0], fit.outcome[fit.scored])
    return expit(weights[0] + design[1] @ weights[1:])


def _weights(x, y):
    """Penalised weights by Newton's method; the constant comes first and is free."""
    x = np.column_stack([np.ones(len(x)), x])
    penalty = np.full(x.shape[1], RIDGE)
    penalty[0] = 1e-6
    weights = np.zeros(x.shape[1])
    for _ in range(25):
        p = expit(x @ weights)
        hessian = (x * (p * (1.0 - p))[:, None]).T @ x + np.diag(penalty)
        step = np.linalg.solve(hessian, x.T @ (y - p) - penalty * weights)
        weights += step / max(1.0, np.abs(step).max() / 3.0)
        if np.abs(step).max() < 1e-6:
            break
    return weights


def _loss(x, y, weights):
    z = weights[0] + x @ weights[1:]
    return float((np.logaddexp(0.0, z) - y * z).mean())


RIVALS: dict[str, Callable[[Histories, Histories], np.ndarray]] = {
    "constant": constant,
    "item mean": item_mean,
    "plain logistic": plain_logistic,
    "DASH, running ability": dash,
    "activation": activation,
    "activation, running ability": partial(activation, able=True),
    "Pavlik-Anderson": pavlik_anderson,
    "Pavlik-Anderson, running ability": partial(pavlik_anderson, able=True),
}
