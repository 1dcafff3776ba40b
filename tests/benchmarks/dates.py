"""Twenty of 200 tunes named a fortnight before a date: ``python -m tests.benchmarks.dates``.

Prints how many of the twenty come on the day, and how many of the others 30 days after it, for
rules of thumb that know the list (a share of each day's checks goes to it), for the same rules
given the share our plan gives on each day, for our plan with the list, and for our plan without
a date; with 90 % bootstrap ranges over players of the difference to the best rule with a share
of its own.
"""

from __future__ import annotations

import argparse

import numpy as np

from tests.benchmarks.worlds.learners import CHOOSING, CONFIRMING
from tests.benchmarks.worlds.life import Life, Load
from tests.benchmarks.worlds.ours import Lowest, Ours, Threshold
from tests.benchmarks.worlds.rules import RULES
from tunememory.dates.weights import load
from tunememory.rounds.candidates import date_gain
from tunememory.rounds.choosing import brought_forward

NAMED, BEFORE, DATE, AFTER = 20, 14, 95, 30
LOAD = Load(200, 12, DATE + AFTER)


def sharing(rule, share):
    """``rule``, with ``share`` of the checks of the fortnight for the list; ``None``: our share."""

    class Sharing(rule):
        name = f"{rule.name}, " + (f"{share:.0%} to the list" if share else "our share")

        def choose(self, day, at, who):
            if not 0 < DATE - day <= BEFORE:
                return super().choose(day, at, who)
            score = self.score(at).reshape(self.life.players, -1)[who]
            listed = self.life.listed[who]
            own = round((share or load(DATE - day)) * LOAD.checks)
            first = np.argsort(-np.where(listed, score, -np.inf), axis=1)[:, :own]
            rest = np.argsort(-np.where(listed, -np.inf, score), axis=1)[:, : LOAD.checks - own]
            return np.concatenate([first, rest], axis=1)

    return Sharing


class Dated(Ours):
    """As the plan does: what a date takes first, then the others, then the rest of the list."""

    name = "ours, with the date"

    def choose(self, day, at, who):
        before = DATE - day
        self.before = np.where(self.life.listed.ravel(), float(before), np.nan)
        self.near = 0 < before <= BEFORE
        return super().choose(day, at, who)

    def score(self, at):
        score = super().score(at)
        if not self.near:
            return score
        gain = date_gain(self.beliefs, at, self.params, self.before)[:, self.own].sum(axis=1)
        score = score - 1e6 * self.life.listed.ravel()
        for begin in range(0, len(score), LOAD.tunes):
            one = slice(begin, begin + LOAD.tunes)
            first = brought_forward(gain[one], self.before[one], LOAD.checks)
            score[begin + first] += 2e6
        return score


class Undated(Ours):
    name = "ours, without a date"


def live(life, policy):
    """Tunes of the list that come on the day, others a month later, checks of the list: (P,)."""
    everyone = np.arange(life.players * LOAD.tunes)
    spent = np.zeros(life.players)
    for day in range(LOAD.days):
        life.unlogged(day)
        at = day + 0.75
        who = np.flatnonzero(life.playing[:, day])
        if day == DATE:
            on_the_day = _sum(life, life.learners.chance(everyone, at), life.listed)
            continue
        if len(who):
            tunes = policy.choose(day, at, who)
            if 0 < DATE - day <= BEFORE:
                spent[who] += np.take_along_axis(life.listed[who], tunes, axis=1).sum(axis=1)
            rows = (who[:, None] * LOAD.tunes + tunes).ravel()
            policy.seen(rows, day, at, life.check(rows, at))
    later = life.learners.chance(everyone, float(LOAD.days))
    return on_the_day, _sum(life, later, ~life.listed), spent


def _sum(life, p, which):
    return np.where(which, p.prod(axis=1).reshape(life.players, -1), 0.0).sum(axis=1)


def main() -> None:
    worlds = {world.name: world for world in (*CHOOSING, *CONFIRMING)}
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--worlds", default=",".join(world.name for world in CHOOSING))
    parser.add_argument("--players", type=int, default=16)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    every = (*RULES, Lowest, Threshold)
    rules = [sharing(rule, share) for rule in every for share in (0.3, 0.6)]
    alike = [sharing(rule, None) for rule in every]
    for name in args.worlds.split(","):
        found = {}
        for policy in (*rules, *alike, Dated, Undated):
            life = Life(worlds[name], LOAD, args.players, 1, args.seed)
            draw = np.random.default_rng([args.seed, 41])
            life.listed = draw.random((args.players, LOAD.tunes)).argsort(axis=1) < NAMED
            found[policy.name] = live(life, policy(life))
        best = max((rule.name for rule in rules), key=lambda n: found[n][0].mean())
        draws = np.random.default_rng(7).integers(0, args.players, (2000, args.players))
        print(f"\n{name}: best rule on the day is {best}")
        for policy, scores in found.items():
            words = []
            for score, theirs in zip(scores[:2], found[best], strict=False):
                off = (score - theirs)[draws].mean(axis=1)
                low, high = np.quantile(off, (0.05, 0.95))
                words.append(f"{score.mean():6.1f} ({low:+.1f} to {high:+.1f})")
            told = f"on the day {words[0]}   others later {words[1]}"
            print(f"{policy:<38} {told}   checks {scores[2].mean():.0f}", flush=True)


if __name__ == "__main__":
    main()
