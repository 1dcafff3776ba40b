"""What a forecast was worth."""

from __future__ import annotations

import numpy as np

LONG = 12 * 3600.0
"""Seconds; a lag beyond it has a night in it."""

NEVER = 1e-6
"""Chances are taken no nearer than this to 0 and 1."""

DRAWS = 2000
"""Bootstrap samples of learners: the tests of one are alike, so whole learners are drawn."""

RANGE = (0.025, 0.975)


def surprise(chance, outcome) -> np.ndarray:
    """Log loss of every test (natural logarithm)."""
    p = np.clip(chance, NEVER, 1.0 - NEVER)
    return -np.log(np.where(outcome == 1, p, 1.0 - p))


def losses(chance, outcome) -> dict[str, float | int | None]:
    """Log loss, Brier score and how many; ``None`` where there is nothing to score."""
    if not len(outcome):
        return {"tests": 0, "log_loss": None, "brier": None}
    return {
        "tests": len(outcome),
        "log_loss": round(float(surprise(chance, outcome).mean()), 5),
        "brier": round(float(np.square(chance - outcome).mean()), 5),
    }


def report(chance, outcome, lag) -> dict:
    """Losses over all, and over the long lags."""
    far = lag > LONG
    return {"all": losses(chance, outcome), "over_12_h": losses(chance[far], outcome[far])}


def behind(rival, ours, outcome, lag, learner) -> dict:
    """How much more the rival loses, over all and over the long lags: mean and 95 % range."""
    more = surprise(rival, outcome) - surprise(ours, outcome)
    far = lag > LONG
    return {
        "all": _mean_and_range(more, learner),
        "over_12_h": _mean_and_range(more[far], learner[far]),
    }


def deciles(chance, outcome, learner) -> list[dict]:
    """Ten parts of equal size in the order of the chance: what was said, what came, the difference.

    The difference is in points of a hundred, with the range that the choice of learners leaves.
    """
    parts = np.array_split(np.argsort(chance, kind="stable"), 10)
    return [
        {
            "tests": len(part),
            "said": round(float(chance[part].mean()), 4),
            "came": round(float(outcome[part].mean()), 4),
            "points_off": _mean_and_range(100.0 * (chance - outcome)[part], learner[part]),
        }
        for part in parts
        if len(part)
    ]


def _mean_and_range(values, learner) -> dict[str, float] | None:
    if not len(values):
        return None
    place = np.unique(learner, return_inverse=True)[1]
    total, number = np.bincount(place, weights=values), np.bincount(place)
    drawn = np.random.default_rng(1).multinomial(
        len(total), np.full(len(total), 1 / len(total)), DRAWS
    )
    low, high = np.quantile((drawn @ total) / (drawn @ number), RANGE)
    return {
        name: round(float(v), 5)
        for name, v in (("mean", values.mean()), ("low", low), ("high", high))
    }
