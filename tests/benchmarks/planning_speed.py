"""How long planning, a rating and a rebuild take with many tunes; run by hand.

    python -m tests.benchmarks.planning_speed [TUNES] [CHECKS]

Each figure stands beside the time that sorting the titles of the same repertoire takes in the same
minute, so that figures of different machines can be compared. Process time, best of 9.
"""

from __future__ import annotations

import random
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path

from tests.benchmarks.timing import best, show
from tests.playing import rate
from tunememory.clock import fixed_clock
from tunememory.music.key import Key
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.tune import Start, Tune
from tunememory.recall.check import Check, Level, Prompt, RoundKind, prompt_strands
from tunememory.rounds import planning
from tunememory.rounds.planning import plan_round
from tunememory.rounds.running import RoundRun
from tunememory.session import open_session, rebuild
from tunememory.store.records import new_identity
from tunememory.text import fold

NOW = datetime(2026, 11, 24, 19, tzinfo=UTC)
RUNS = 9


def a_tune(number: int, draw: random.Random) -> Tune:
    def start(part: str) -> Start:
        notes = tuple(
            Note(Pitch(draw.choice((4, 5)), draw.choice(LETTERS)), Fraction(1, 2))
            for _ in range(14)
        )
        return Start(part, notes)

    return Tune(
        uuid=f"{number:08}",
        titles=(f"{draw.choice(LETTERS)} tune of the Estuary {number}",),
        kind=draw.choice(("reel", "jig", "hornpipe")),
        key=Key(draw.choice("DGAE")),
        metre="C|",
        starts=(start("A"), start("B")),
        added=date(2024, 1, 1),
    )


def history(tunes: list[Tune], count: int, draw: random.Random) -> list[Check]:
    begin = NOW - timedelta(days=600)
    checks = []
    for number in range(count):
        tune = draw.choice(tunes)
        at = begin + timedelta(days=599 * number / count)
        levels = tuple(
            (strand, Level(draw.randint(1, 4))) for strand in prompt_strands(tune, Prompt.HOW)
        )
        checks.append(
            Check(new_identity(), tune.uuid, at, at.date(), RoundKind.FIRST, Prompt.HOW, levels)
        )
    return checks


def main() -> None:
    tunes_wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    checks_wanted = int(sys.argv[2]) if len(sys.argv) > 2 else 20_000
    draw = random.Random(5)
    tunes = [a_tune(number, draw) for number in range(tunes_wanted)]
    with (
        tempfile.TemporaryDirectory() as folder,
        open_session(Path(folder) / "many.tunes", fixed_clock(NOW)) as session,
    ):
        session.repertoire.tunes.add(tunes)
        session.repertoire.checks.add(history(tunes, checks_wanted, draw))
        session.reload()
        rebuilt = best(lambda: rebuild(session), 1)
        plan_round(session, RoundKind.FIRST)
        wish = planning.RoundWish(RoundKind.FIRST)
        at = planning.moment(session)
        figures = {
            "sort the titles (1)": best(lambda: sorted(fold(tune.title) for tune in tunes), RUNS),
            "read what a plan rests on": best(lambda: planning.moment(session), RUNS),
            "choose the prompts": best(lambda: planning.chosen(session, at, wish), RUNS),
            "plan a round, all in": best(lambda: plan_round(session, RoundKind.FIRST), RUNS),
            f"rebuild {checks_wanted} checks": rebuilt,
        }
        run = RoundRun.begin(session, plan_round(session, RoundKind.FIRST))
        figures["rate one prompt"] = best(lambda: rate(run, Level.FIND), min(RUNS, run.left))
    print(f"{tunes_wanted} tunes, {checks_wanted} checks")
    show(figures)


if __name__ == "__main__":
    main()
