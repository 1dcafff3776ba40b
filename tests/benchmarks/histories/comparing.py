"""Every model on both halves of the learners, as many at once as there are processors."""

from __future__ import annotations

import multiprocessing
import os
import time
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from tests.benchmarks.histories.fitted import ours
from tests.benchmarks.histories.reading import Histories, HistoriesError
from tests.benchmarks.histories.rivals import RIVALS
from tests.benchmarks.histories.scoring import behind, deciles, report

OURS = "ours"

_SINGLE = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""One thread for each process; more would wait for each other."""


def compare(data: Histories) -> dict:
    """Score every model on both halves of the learners; both must have tests to score."""
    odd = data.number % 2 == 1
    parts = (odd, ~odd)
    for part in parts:
        if not (data.scored & part).any():
            raise HistoriesError("needs learners of even and of odd number with repeated tests")
    # Ours takes longest and goes first.
    tasks = [(name, part) for name in (OURS, *RIVALS) for part in parts]
    chances = {name: np.full(len(odd), np.nan) for name, _ in tasks}
    seconds = dict.fromkeys(chances, 0.0)
    found = []
    for name in _SINGLE:
        os.environ.setdefault(name, "1")
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        work = [pool.submit(foretell, name, data, part) for name, part in tasks]
        for (name, part), one in zip(tasks, work, strict=True):
            chance, parameters, taken = one.result()
            chances[name][data.scored & part] = chance
            seconds[name] += taken
            found += [parameters] if parameters else []
    y, lag, learner = (column[data.scored] for column in (data.outcome, data.lag, data.learner))
    scored = {name: chance[data.scored] for name, chance in chances.items()}
    return {
        "rows": len(odd),
        "learners": len(np.unique(data.number)),
        "models": {
            name: report(p, y, lag) | {"seconds": round(seconds[name], 1)}
            for name, p in scored.items()
        },
        "behind_ours": {
            name: behind(p, scored[OURS], y, lag, learner)
            for name, p in scored.items()
            if name != OURS
        },
        "deciles_of_ours": deciles(scored[OURS], y, learner),
        "parameters_of_ours": found,
    }


def foretell(name: str, data: Histories, part: np.ndarray) -> tuple[np.ndarray, dict, float]:
    """Chances of the scored tests in ``part``, ours with its parameters, and processor seconds."""
    begun = time.process_time()
    fit, other = data.some(~part), data.some(part)
    said, parameters = ours(fit, other) if name == OURS else (RIVALS[name](fit, other), {})
    return said, parameters, time.process_time() - begun
