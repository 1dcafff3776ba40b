"""How long judging, fitting and looking ahead take; run by hand.

    python -m tests.benchmarks.guessing_speed [TUNES] [CHECKS]

Each figure stands beside the time one replay of the same history takes in the same minute, so that
figures of different machines can be compared. Process time; the forecast is for 4 minutes a day.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.benchmarks.planning_speed import NOW, a_tune, history
from tests.benchmarks.timing import best, show
from tunememory.clock import fixed_clock
from tunememory.forecast.how_well import how_well_guessed
from tunememory.forecast.year import year_ahead
from tunememory.history import entry_of, whole_history
from tunememory.recall.fitting import refit
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import replay
from tunememory.recall.table import each_untouched
from tunememory.session import open_session


def main() -> None:
    tunes_wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    checks_wanted = int(sys.argv[2]) if len(sys.argv) > 2 else 5_000
    draw = random.Random(5)
    tunes = [a_tune(number, draw) for number in range(tunes_wanted)]
    with (
        tempfile.TemporaryDirectory() as folder,
        open_session(Path(folder) / "many.tunes", fixed_clock(NOW)) as session,
    ):
        session.repertoire.tunes.add(tunes)
        session.repertoire.checks.add(history(tunes, checks_wanted, draw))
        session.reload()
        session.beliefs.all()
        order, histories = whole_history(session)
        firsts = each_untouched(order, PRIOR)
        entries = [entry_of(tune) for tune in order]
        shares: list[float] = []
        figures = {
            "replay the history (1)": best(lambda: replay(firsts, histories, PRIOR), 3),
            "how well we guess": best(lambda: how_well_guessed(session), 3),
            "fit and try it": best(lambda: refit(entries, histories, PRIOR), 1),
            "a year ahead": best(lambda: year_ahead(session, 4.0, None, 2.0, shares.append), 1),
        }
    print(f"{tunes_wanted} tunes, {checks_wanted} checks")
    show(figures)
    steps = np.diff(shares)
    print(f"  progress told {len(shares)} times, largest step {100 * steps.max():.1f} %")


if __name__ == "__main__":
    main()
