"""What a forecast was worth."""

from __future__ import annotations

import numpy as np

LONG = 12 * 3600.0
"""Seconds; a lag beyond it has a night in it."""

NEVER = 1e-6
"""Chances are taken no nearer than this to 0 and 1."""


def losses(chance, outcome) -> dict[str, float | int | None]:
    """Log loss (natural), Brier score and how many; ``None`` where there is nothing to score."""
    if not len(outcome):
        return {"tests": 0, "log_loss": None, "brier": None}
    p = np.clip(chance, NEVER, 1.0 - NEVER)
    said = np.where(outcome == 1, p, 1.0 - p)
    return {
        "tests": len(outcome),
        "log_loss": round(float(-np.log(said).mean()), 5),
        "brier": round(float(np.square(chance - outcome).mean()), 5),
    }


def report(chance, outcome, lag) -> dict:
    """Losses over all, and over the long lags."""
    far = lag > LONG
    return {"all": losses(chance, outcome), "over_12_h": losses(chance[far], outcome[far])}


def deciles(chance, outcome) -> list[dict[str, float | int]]:
    """Ten parts of equal size in the order of the chance: what was said and what came."""
    parts = np.array_split(np.argsort(chance, kind="stable"), 10)
    return [
        {
            "tests": len(part),
            "said": round(float(chance[part].mean()), 4),
            "came": round(float(outcome[part].mean()), 4),
        }
        for part in parts
        if len(part)
    ]
