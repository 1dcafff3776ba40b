"""Models of memory on real recall histories: ``python -m tests.benchmarks.histories FILE``.

FILE is a csv (or csv.gz) with a row for each test or study: ``learner``, ``t_s`` (seconds since
that learner's first row), ``group``, ``facet`` (group and facet name the item), ``outcome`` (1, 0
or S for study only); other columns are passed over. Printed as JSON: log loss and Brier score of
the chance that each model gave to every second or later test of an item just before it came, over
all of them and over those more than 12 hours after the item was last met; how much more each
rival loses than our model, with the 95 % range over learners drawn anew; and what came of chances
alike. What holds for everybody (items, weights, parameters) is fitted on the learners of even
number and scored on the others, then the other way round; of a scored learner a model knows the
past only.
"""

from __future__ import annotations

import argparse
import json
import sys

from tests.benchmarks.histories.comparing import compare
from tests.benchmarks.histories.reading import HistoriesError, read


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
