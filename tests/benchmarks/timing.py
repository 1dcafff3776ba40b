"""Processor time of pieces of work, beside a piece that every machine knows."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping


def seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def best(work: Callable[[], object], runs: int) -> float:
    """Fewest processor seconds of a number of runs: noise only adds."""
    return min(seconds(work) for _ in range(runs))


def show(figures: Mapping[str, float]) -> None:
    """Print each figure, in seconds, beside the first."""
    beside = next(iter(figures.values()))
    for name, taken in figures.items():
        print(f"  {name:34} {1000 * taken:10.2f} ms {taken / beside:9.2f} x")
