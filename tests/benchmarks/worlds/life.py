"""A year of checks: missed days, a long gap, playing nobody wrote down, levels given kindly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tunememory.music.tune import Declared

SECONDS = np.array([0.0, 18.0, 16.0, 9.0, 6.0])
"""What a check takes, by level: invented."""

WORDS = (Declared.NEW, Declared.LEARNING, Declared.KNOWN, Declared.OLD_FRIEND)


@dataclass(frozen=True)
class Load:
    tunes: int
    checks: int
    days: int = 365


LOADS = (Load(80, 10), Load(200, 12), Load(400, 10))


@dataclass
class Score:
    """One number for each player, over the tunes: how many could be called."""

    average: np.ndarray
    end: np.ndarray
    month_later: np.ndarray
    minutes: np.ndarray


class Life:
    """What befalls the players whatever the policy: drawn once, the same for every policy."""

    def __init__(self, world, load: Load, players: int, strands: int, seed: int):
        self.load, self.players, self.strands = load, players, strands
        self.rng = np.random.default_rng([seed, 11])
        self.learners = world(np.random.default_rng([seed, 12]), players, load.tunes, strands)
        r = np.random.default_rng([seed, 13])
        days = load.days
        miss = r.uniform(0.05, 0.35, (players, 1))
        self.playing = r.random((players, days)) > miss
        if days > 200:
            begin = r.integers(100, 210, players)
            for p in range(players):
                self.playing[p, begin[p] : begin[p] + 91] = False
        self.liking = np.exp(r.normal(size=(players, load.tunes)))
        self.liking /= self.liking.sum(axis=1, keepdims=True)
        self.kindness = 0.15
        self._earlier_years(r)

    def _earlier_years(self, r):
        """Every tune was met a few times before it was entered; the player's word is rough."""
        n = self.players * self.load.tunes
        times = r.poisson(3.0, n) + 1
        span = np.exp(r.normal(np.log(40.0), 0.8, n))
        place = np.arange(times.max())
        when = np.where(place < times[:, None], -span[:, None] * r.random((n, times.max())), -1e6)
        when = np.minimum(np.round(np.sort(when, axis=1) * 2) / 2, -0.5)
        for day in np.unique(when[when > -1e5]):
            self._play(np.flatnonzero((when == day).any(axis=1)), float(day), 1.0, r)
        p = self.learners.chance(np.arange(n), 4.0).mean(axis=1)
        felt = np.log(p / (1 - p)) + r.normal(0, 1.0, n)
        self.word = np.digitize(felt, (-2.5, -0.8, 1.0))

    def _play(self, rows, at, amount, r):
        if len(rows):
            p = self.learners.chance(rows, at)
            came = r.random(p.shape) < p
            self.learners.learn(rows, at, came, np.full(p.shape, amount))

    def callable_now(self, at: float):
        """(P,) expected number of tunes that would start, every strand of them right."""
        p = self.learners.chance(np.arange(self.players * self.load.tunes), at)
        return p.prod(axis=1).reshape(self.players, -1).sum(axis=1)

    def check(self, rows, at: float):
        """(len(rows), F) levels the player gives; the answer is seen, so memory learns."""
        p = self.learners.chance(rows, at)
        twin = self.learners.twin_of(rows)
        met = np.where(twin >= 0, self.learners.last[twin].max(axis=1), -1e9) > at - 2.0
        p = np.where(met[:, None], 0.85 * p, p)
        came = self.rng.random(p.shape) < p
        strong = self.rng.random(p.shape) < 0.2 + 0.7 * p
        near = self.rng.random(p.shape) < 0.15 + 0.5 * p
        level = np.where(came, np.where(strong, 4, 3), np.where(near, 2, 1))
        kind = self.rng.random(p.shape) < self.kindness
        level = np.minimum(level + kind, 4)
        self.learners.learn(rows, at, came, np.ones(p.shape))
        return level

    def unlogged(self, day: int):
        """Play some tunes of one's liking without a word to anyone."""
        rows = []
        for p in np.flatnonzero(self.playing[:, day]):
            n = self.rng.poisson(1.5)
            some = self.rng.choice(self.load.tunes, n, replace=False, p=self.liking[p])
            rows.append(p * self.load.tunes + some)
        if rows:
            self._play(np.concatenate(rows), day + 0.6, 0.3, self.rng)


def live(life: Life, policy, every: int = 3) -> Score:
    """Let ``policy`` choose for a life and count what it keeps."""
    load = life.load
    seconds = np.zeros(life.players)
    counts = []
    for day in range(load.days):
        life.unlogged(day)
        at = day + 0.75
        who = np.flatnonzero(life.playing[:, day])
        if len(who):
            tunes = policy.choose(day, at, who)
            rows = (who[:, None] * load.tunes + tunes).ravel()
            level = life.check(rows, at)
            policy.seen(rows, day, at, level)
            spent = SECONDS[level].max(axis=1).reshape(len(who), -1).sum(axis=1)
            seconds[who] += spent
        if day % every == 0:
            counts.append(life.callable_now(at + 0.25))
    end = load.days
    return Score(
        average=np.mean(counts, axis=0),
        end=life.callable_now(end),
        month_later=life.callable_now(end + 30.0),
        minutes=seconds / 60.0,
    )
