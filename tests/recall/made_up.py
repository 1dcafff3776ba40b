"""Invented tunes and histories."""

from __future__ import annotations

import numpy as np

from tunememory.music.tune import Declared
from tunememory.recall.belief import TuneBelief, first_belief
from tunememory.recall.parameters import PRIOR
from tunememory.recall.update import CheckEvent, Event, ExposureEvent


def made_up(
    tunes: int, mean_events: float, seed: int
) -> tuple[list[TuneBelief], list[list[Event]]]:
    """Return first beliefs and histories."""
    rng = np.random.default_rng(seed)
    firsts, histories = [], []
    for _ in range(tunes):
        columns = [c for c in range(int(rng.integers(3, 7))) if c < 3 or rng.random() < 0.7]
        declared = list(Declared)[int(rng.integers(4))]
        added = float(rng.uniform(9000, 9100))
        firsts.append(first_belief(columns, declared, added, PRIOR))
        at = added
        history: list[Event] = []
        for _ in range(int(rng.poisson(mean_events))):
            at += float(rng.exponential(8.0) if rng.random() < 0.7 else rng.uniform(0, 0.05))
            if rng.random() < 0.85:
                asked = [c for c in columns if rng.random() < 0.6]
                whole = int(rng.integers(1, 5))
                levels = tuple((c, whole) for c in asked)
                hints = int(rng.integers(0, 2))
                history.append(CheckEvent(at, int(at), levels, hints, rng.random() < 0.5))
            else:
                history.append(ExposureEvent(at, int(at), tuple(columns[:2]), 3.0))
        histories.append(history)
    return firsts, histories
