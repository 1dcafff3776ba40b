"""Fit our model's parameters for everybody, and foretell learners never seen."""

from __future__ import annotations

import numpy as np

from tests.benchmarks.histories.ours import NAMES, SPREAD, Learners, Trial, values, vector
from tests.benchmarks.histories.scoring import NEVER

ROUNDS = 7
"""What a minute bears; a few more still move the parameters, the losses in the third digit."""
STEP = 0.05
"""Of the differences that stand for derivatives; far above rounding, far below the priors."""

ITEM_SD = 1.0
"""Prior of an item's offset about its mean of 0, in logarithms of days."""


def ours(fit, other):
    """Chance of each scored test of ``other``, and the parameters found on ``fit``."""
    found, offset = fitted(Learners(fit), max(fit.items, other.items))
    chance = Learners(other).foretell(values(found), offset)[other.scored]
    named = {name: round(at, 4) for name, at in values(found).items()}
    return chance, named | {"item_sd": round(float(offset.std()), 4)}


def fitted(learners: Learners, items: int) -> tuple[np.ndarray, np.ndarray]:
    """Parameters by Fisher scoring over learners (Berndt, Hall, Hall & Hausman 1974).

    Each round also moves the items' offsets by one scoring step on what is left over.

    Returns:
        Free parameters in the order of ``NAMES``, and the offset of each item.
    """
    centre, precision = vector(Trial()), vector(SPREAD) ** -2.0
    free, offset = centre.copy(), np.zeros(items)
    for _ in range(3):
        offset = _items(learners, values(free), offset)
    damping = 1.0
    here = _by_learner(learners, free, offset)
    for _ in range(ROUNDS):
        slopes = np.empty((len(NAMES), len(here)))
        for j in range(len(NAMES)):
            moved = free.copy()
            moved[j] += STEP
            slopes[j] = (_by_learner(learners, moved, offset) - here) / STEP
        gradient = slopes.sum(axis=1) - precision * (free - centre)
        curvature = slopes @ slopes.T + np.diag(precision)
        for _ in range(4):
            damped = curvature + damping * np.diag(np.diag(curvature))
            trial = free + np.clip(np.linalg.solve(damped, gradient), -1.0, 1.0)
            there = _by_learner(learners, trial, offset)
            gained = there.sum() - here.sum()
            gained -= 0.5 * (precision * ((trial - centre) ** 2 - (free - centre) ** 2)).sum()
            if gained > 0.0:
                free, damping = trial, damping / 4.0
                break
            damping *= 6.0
        offset = _items(learners, values(free), offset)
        here = _by_learner(learners, free, offset)
    return free, offset


def _by_learner(learners: Learners, free: np.ndarray, offset: np.ndarray) -> np.ndarray:
    """Log likelihood of the scored tests of each learner."""
    data = learners.data
    p = learners.foretell(values(free), offset)[data.scored]
    p = np.clip(p, NEVER, 1.0 - NEVER)
    came = np.log(np.where(data.outcome[data.scored] == 1, p, 1.0 - p))
    return np.bincount(data.learner[data.scored], weights=came, minlength=len(learners.length))


def _items(learners: Learners, found: dict[str, float], offset: np.ndarray) -> np.ndarray:
    data = learners.data
    p = learners.foretell(found, offset)[data.scored]
    item, size = data.item[data.scored], len(offset)
    surplus = np.bincount(item, weights=data.outcome[data.scored] - p, minlength=size)
    certain = np.bincount(item, weights=p * (1.0 - p), minlength=size)
    a = found["slope"]
    return offset + (a * surplus - offset / ITEM_SD**2) / (a * a * certain + ITEM_SD**-2)
