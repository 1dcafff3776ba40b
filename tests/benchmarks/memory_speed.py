"""The memory model over many tunes: chances, worth of a check, one update, a whole history anew.

Run it: ``python -m tests.benchmarks.memory_speed [TUNES [CHECKS_A_TUNE]]``. It prints figures
beside a numpy sort of a million numbers in the same minute, and gates nothing. Processor time,
best of a few.
"""

from __future__ import annotations

import sys

import numpy as np

from tests.benchmarks.timing import best, show
from tunememory.music.tune import Declared
from tunememory.recall.belief import Beliefs, first_belief, stack
from tunememory.recall.forgetting import chance, chance_range
from tunememory.recall.gain import ask_value, gain_parts
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import replay
from tunememory.recall.update import CheckEvent, Event, after

COLUMNS = (0, 1, 2, 3)


def a_history(count: int, draw: np.random.Generator) -> list[Event]:
    moments = np.cumsum(draw.exponential(20, count))
    levels = draw.integers(1, 5, count)
    return [
        CheckEvent(float(at), int(at), tuple((column, int(level)) for column in (0, 2, 3)))
        for at, level in zip(moments, levels, strict=True)
    ]


def chances(beliefs: Beliefs) -> None:
    chance(beliefs, 100.0, PRIOR)
    chance_range(beliefs, 100.0, PRIOR)


def worths(beliefs: Beliefs) -> None:
    keeping, growing = gain_parts(beliefs, 100.0, PRIOR, day=100)
    ask_value(keeping, growing, 12)


def main(tunes: int = 5_000, checks: int = 100) -> None:
    draw = np.random.default_rng(9)
    numbers = draw.random(1_000_000)
    firsts = [first_belief(COLUMNS, Declared.KNOWN, 0.0, PRIOR) for _ in range(tunes)]
    histories = [a_history(checks, draw) for _ in range(tunes)]
    few = stack(replay(firsts, [history[:3] for history in histories], PRIOR))
    one = firsts[0]
    rated = CheckEvent(10.0, 10, tuple((column, 3) for column in COLUMNS))
    figures = {
        "sort a million numbers (1)": best(lambda: np.sort(numbers), 5),
        f"chances and ranges, {tunes} x {len(COLUMNS)}": best(lambda: chances(few), 7),
        f"worth of a check, {tunes} x {len(COLUMNS)}": best(lambda: worths(few), 7),
        "one update": best(lambda: after(one, rated, PRIOR), 50),
        f"{tunes * checks} checks anew": best(lambda: replay(firsts, histories, PRIOR), 1),
    }
    show(figures)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
