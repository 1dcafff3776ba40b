"""Fit our model's parameters for everybody, and foretell learners never seen."""

from __future__ import annotations

import numpy as np

from tests.benchmarks.histories.ours import NAMES, SPREAD, Learners, Trial, values, vector
from tests.benchmarks.histories.scoring import NEVER

MOST_ROUNDS = 40
SMALL = 3e-5
"""A round that wins less log likelihood than this for each test is the last."""

STEP = 0.05
"""Of the differences that stand for derivatives; far above rounding, far below the priors."""

LONGEST = 1.0
"""No coordinate goes further in one round."""

ITEM_SD = 1.0
"""Prior of an item's offset about its mean of 0, in logarithms of days."""


def ours(fit, other):
    """Chance of each scored test of ``other``, and the parameters found on ``fit``."""
    found, offset, rounds = fitted(Learners(fit), max(fit.items, other.items))
    chance = Learners(other).foretell(values(found), offset)[other.scored]
    named = {name: round(at, 4) for name, at in values(found).items()}
    return chance, named | {"item_sd": round(float(offset.std()), 4), "rounds": rounds}


def fitted(learners: Learners, items: int) -> tuple[np.ndarray, np.ndarray, int]:
    """Parameters and items' offsets together, by scoring over learners.

    The outer products of the learners' scores stand for the curvature (Berndt, Hall, Hall &
    Hausman 1974), about their mean: far from the top the mean would drown it. Steps are damped
    by how much of what they promised came (Marquardt 1963).

    Returns:
        Free parameters in the order of ``NAMES``, offset of each item, rounds it took.
    """
    many = len(NAMES)
    centre = np.concatenate([vector(Trial()), np.zeros(items)])
    precision = np.concatenate([vector(SPREAD) ** -2.0, np.full(items, ITEM_SD**-2.0)])

    def by_learner(at):
        return _by_learner(learners, at[:many], at[many:])

    def prior(at):
        return -0.5 * float(precision @ np.square(at - centre))

    at, damping, rounds = centre, 0.1, 0
    here = by_learner(at)
    enough = SMALL * learners.data.scored.sum()
    won = np.inf
    while won > enough and rounds < MOST_ROUNDS:
        rounds += 1
        nudges = STEP * np.eye(many, len(at))
        slopes = np.stack([(by_learner(at + nudge) - here) / STEP for nudge in nudges])
        slopes = np.vstack([slopes, learners.item_scores(values(at[:many]), at[many:])])
        gradient = slopes.sum(axis=1) - precision * (at - centre)
        slopes -= slopes.mean(axis=1, keepdims=True)
        curvature = slopes @ slopes.T + np.diag(precision)
        won = 0.0
        while won <= 0.0 and damping < 1e6:
            damped = curvature + damping * np.diag(np.diag(curvature))
            step = np.linalg.solve(damped, gradient)
            step /= max(1.0, np.abs(step).max() / LONGEST)
            there = by_learner(at + step)
            won = there.sum() - here.sum() + prior(at + step) - prior(at)
            kept = won / (step @ gradient - 0.5 * step @ curvature @ step)
            damping *= 0.2 if kept > 0.75 else (1.0 if kept > 0.25 else 5.0)
            damping = max(damping, 1e-3)
        if won > 0.0:
            at, here = at + step, there
    return at[:many], at[many:], rounds


def _by_learner(learners: Learners, free: np.ndarray, offset: np.ndarray) -> np.ndarray:
    """Log likelihood of the scored tests of each learner."""
    data = learners.data
    p = learners.foretell(values(free), offset)[data.scored]
    p = np.clip(p, NEVER, 1.0 - NEVER)
    came = np.log(np.where(data.outcome[data.scored] == 1, p, 1.0 - p))
    return np.bincount(data.learner[data.scored], weights=came, minlength=len(learners.length))
