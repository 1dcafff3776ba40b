"""Policies side by side on simulated players: ``python -m tests.benchmarks.policies``.

Prints, for every world and load, the mean number of tunes callable on an average day (and at
the end, 30 days later, the worst tenth of players, per hour spent) and how each policy stands
to the best rule of thumb, player by player, with a 90 % bootstrap interval.
"""

from __future__ import annotations

import argparse
import json
import time

import numpy as np

from tests.benchmarks.worlds.learners import CHOOSING, CONFIRMING
from tests.benchmarks.worlds.life import LOADS, Life, live
from tests.benchmarks.worlds.ours import (
    Greedy,
    Lowest,
    Oracle,
    Ours,
    OursUnfitted,
    Threshold,
    population,
    told,
)
from tests.benchmarks.worlds.rules import RULES

WORLDS = {world.name: world for world in (*CHOOSING, *CONFIRMING)}
BASELINES = (*RULES, Lowest, Threshold)


def compare(world, load, players=16, strands=1, seed=1, oracle=False):
    """One row a policy: name, per-player scores, and the ratio to the best rule of thumb."""
    params = population(world, load, players, strands, seed + 1000, live)
    policies = [*BASELINES, Greedy, OursUnfitted, Ours, told(params)]
    if oracle:
        policies.append(Oracle)
    rows = []
    for policy in policies:
        life = Life(world, load, players, strands, seed)
        begun = time.perf_counter()
        made = policy(life)
        score = live(life, made)
        rows.append(
            {
                "policy": policy.name,
                "score": score,
                "seconds": time.perf_counter() - begun,
                "fits_taken": getattr(made, "taken", []),
                "focus": [round(float(np.mean(f)), 2) for f in getattr(made, "focuses", [])],
            }
        )
    best = max(rows[: len(BASELINES)], key=lambda row: row["score"].average.mean())
    rng = np.random.default_rng([seed, 31])
    draws = rng.integers(0, players, (2000, players))
    for row in rows:
        ours, theirs = row["score"].average, best["score"].average
        ratio = ours[draws].sum(axis=1) / theirs[draws].sum(axis=1) - 1.0
        row["ahead"] = float(ours.sum() / theirs.sum() - 1.0)
        row["range"] = [float(q) for q in np.quantile(ratio, (0.05, 0.95))]
    return rows, best["policy"]


def plain(row):
    score = row["score"]
    average = np.sort(score.average)
    tenth = max(len(average) // 10, 1)
    return {
        "policy": row["policy"],
        "average": round(float(average.mean()), 1),
        "end": round(float(score.end.mean()), 1),
        "month_later": round(float(score.month_later.mean()), 1),
        "worst_tenth": round(float(average[:tenth].mean()), 1),
        "per_hour": round(float((score.average / (score.minutes / 60)).mean()), 1),
        "ahead": round(100 * row["ahead"], 1),
        "range": [round(100 * q, 1) for q in row["range"]],
        "fits_taken": row["fits_taken"],
        "focus": row["focus"],
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--worlds", default=",".join(world.name for world in CHOOSING))
    parser.add_argument("--loads", default="80,200,400", help="tunes: 80, 200, 400")
    parser.add_argument("--players", type=int, default=16)
    parser.add_argument("--strands", type=int, default=1)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--oracle", action="store_true", help="slow: knows the true states")
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args()
    wanted = {int(n) for n in args.loads.split(",")}
    found = []
    for name in args.worlds.split(","):
        for load in (load for load in LOADS if load.tunes in wanted):
            rows, best = compare(
                WORLDS[name], load, args.players, args.strands, args.seed, args.oracle
            )
            table = [plain(row) for row in rows]
            found.append({"world": name, "tunes": load.tunes, "best_rule": best, "rows": table})
            if not args.json:
                print(f"\n{name}, {load.tunes} tunes, {load.checks} checks a day", flush=True)
                print(
                    "policy                 average   end  later  worst  /hour   ahead of the best"
                )
                for row in table:
                    low, high = row["range"]
                    print(
                        f"{row['policy']:<22} {row['average']:6.1f} {row['end']:6.1f} "
                        f"{row['month_later']:6.1f} {row['worst_tenth']:6.1f} "
                        f" {row['per_hour']:6.1f}"
                        f"  {row['ahead']:+6.1f} % ({low:+.1f} to {high:+.1f})",
                        flush=True,
                    )
    if args.json:
        print(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
