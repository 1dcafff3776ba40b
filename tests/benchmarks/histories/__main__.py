"""Models of memory on real recall histories: ``python -m tests.benchmarks.histories FILE``.

FILE is a csv (or csv.gz) with a row for each test or study: ``learner``, ``t_s`` (seconds since
that learner's first row), ``group``, ``facet`` (group and facet name the item), ``outcome`` (1, 0
or S for study only); other columns are passed over. Printed as JSON: log loss and Brier score
of the chance that each model gave to every second or later test of an item just before it came,
over all of them and over those more than 12 hours after the item was last met. What holds for
everybody (items, weights, parameters) is fitted on the learners of even number and scored on
the others, then the other way round; of a scored learner a model knows the past only.
"""

from __future__ import annotations

import argparse
import json
import sys
import time

import numpy as np

from tests.benchmarks.histories.fitted import ours
from tests.benchmarks.histories.reading import HistoriesError, read
from tests.benchmarks.histories.rivals import RIVALS
from tests.benchmarks.histories.scoring import deciles, report


def compare(data) -> dict:
    """Score every model on both halves of the learners; both must have tests to score."""
    odd = data.number % 2 == 1
    for part in (odd, ~odd):
        if not (data.scored & part).any():
            raise HistoriesError("needs learners of even and of odd number with repeated tests")
    chances = {name: np.full(len(odd), np.nan) for name in (*RIVALS, "ours")}
    seconds = dict.fromkeys(chances, 0.0)
    found = []
    for part in (odd, ~odd):
        fit, other = data.some(~part), data.some(part)
        for name, chance in chances.items():
            begun = time.perf_counter()
            if name == "ours":
                said, parameters = ours(fit, other)
                found.append(parameters)
            else:
                said = RIVALS[name](fit, other)
            chance[data.scored & part] = said
            seconds[name] += time.perf_counter() - begun
    y, lag = data.outcome[data.scored], data.lag[data.scored]
    scored = {name: chance[data.scored] for name, chance in chances.items()}
    return {
        "rows": len(odd),
        "learners": len(np.unique(data.number)),
        "models": {
            name: report(p, y, lag) | {"seconds": round(seconds[name], 1)}
            for name, p in scored.items()
        },
        "deciles_of_ours": deciles(scored["ours"], y),
        "parameters_of_ours": found,
    }


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("file", help="csv or csv.gz of recall histories")
    path = arguments.parse_args().file
    try:
        print(json.dumps(compare(read(path)), indent=1))
    except HistoriesError as fault:
        print(fault, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
