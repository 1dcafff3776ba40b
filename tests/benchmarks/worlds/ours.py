"""Our plan, with our belief, and what it could do if it knew more."""

from __future__ import annotations

import copy
from dataclasses import replace

import numpy as np

from tests.benchmarks.worlds.life import WORDS, Life
from tests.benchmarks.worlds.rules import Rule
from tunememory.forecast.own_parameters import focus_for, next_look
from tunememory.recall.belief import Entry, first_beliefs
from tunememory.recall.fitting import ENOUGH_CHECKS, fit, refit_players, sharpness_of_players
from tunememory.recall.forgetting import chance
from tunememory.recall.gain import ask_value, gain_parts, strand_gain
from tunememory.recall.parameters import PRIOR, PRIORS, side_by_side
from tunememory.recall.update import CheckEvent, advance_some, event_rows

FIRST_COLUMN = 2
"""Strands of the simulated tunes are starts, as "How does it go?" asks for them."""

FITTED = tuple(n for n in PRIORS if n not in {"start", "name", "spill", "same_day", "haste"})
"""What one round a day and starts alone can tell of."""


class Believing(Rule):
    """Keeps our belief about every tune."""

    given = PRIOR

    def start(self):
        life = self.life
        self.own = slice(FIRST_COLUMN, FIRST_COLUMN + life.strands)
        columns = tuple(range(FIRST_COLUMN, FIRST_COLUMN + life.strands))
        self.entries = [Entry(columns, WORDS[word], 0.0) for word in life.word]
        self.owner = np.repeat(np.arange(life.players), life.load.tunes)
        self.history = [[] for _ in self.entries]
        self.each = [self.given] * life.players
        self.rebuild()

    def rebuild(self):
        """Beliefs from the start, with each player's parameters."""
        self.params = side_by_side([self.each[p] for p in self.owner])
        self.beliefs = first_beliefs(self.entries, self.params)
        length = np.array([len(history) for history in self.history])
        for k in range(int(length.max())):
            rows = np.flatnonzero(length > k)
            self._advance(rows, [self.history[row][k] for row in rows])

    def seen(self, rows, day, at, level):
        super().seen(rows, day, at, level)
        events = [
            CheckEvent(at, day + 1, tuple((FIRST_COLUMN + f, int(y)) for f, y in enumerate(given)))
            for given in level
        ]
        for row, event in zip(rows, events, strict=True):
            self.history[row].append(event)
        self._advance(rows, events)

    def _advance(self, rows, events):
        columns = self.beliefs.mean.shape[1]
        advance_some(self.beliefs, rows, event_rows(events, columns), self.params)


class Lowest(Believing):
    name = "lowest chance"

    def score(self, at):
        return -chance(self.beliefs, at, self.given)[:, self.own].mean(axis=1)


class Threshold(Lowest):
    """Nearest to a fixed chance (Lindsey et al. 2014, Psychological Science 25, 639-647)."""

    name = "threshold"
    aim = 0.4

    def score(self, at):
        return -np.abs(-super().score(at) - self.aim)


class Greedy(Believing):
    """Greatest gain of chance at one horizon."""

    name = "greedy gain"
    horizon = 4.0

    def score(self, at):
        return strand_gain(self.beliefs, at, self.params, self.horizon)[:, self.own].sum(axis=1)


class Ours(Believing):
    """The value the plan uses, as focused as the player's own checks say.

    Refitted to each player after 300, 600, 1200, 2400 checks, taken where it foretells later
    checks better.
    """

    name = "ours"
    refits = tuple(ENOUGH_CHECKS * n for n in (1, 2, 4, 8))

    def start(self):
        super().start()
        self.done = 0
        self.taken = []
        self.looked_at = 0
        self.focus = np.full(self.life.players, self.given.focus)
        self.focuses = []

    def choose(self, day, at, who):
        made = np.bincount(self.owner, weights=self.met).astype(int)
        usual = int(np.median(made))
        changed = False
        if self.done < len(self.refits) and usual >= self.refits[self.done]:
            self.done += 1
            tried = refit_players(self.entries, self.history, self.owner, self.each, FITTED)
            self.each = [
                new.fitted.parameters if new.better else old
                for new, old in zip(tried, self.each, strict=True)
            ]
            self.taken.append(sum(new.better for new in tried))
            changed = True
        looks = usual >= next_look(self.looked_at)
        if looks:
            self.looked_at = usual
            found = sharpness_of_players(self.entries, self.history, self.owner, self.life.players)
            some = zip(found, made, self.focus, strict=True)
            self.focus = np.array([focus_for(*one) for one in some])
            self.focuses.append(self.focus)
        if looks or changed:
            self._take_focus()
        if changed:
            self.rebuild()
        return super().choose(day, at, who)

    def _take_focus(self):
        self.each = [replace(e, focus=float(f)) for e, f in zip(self.each, self.focus, strict=True)]
        self.params = side_by_side([self.each[p] for p in self.owner])

    def value(self, at):
        """(P, N, F) worth of asking for each strand."""
        shape = (self.life.players, self.life.load.tunes, self.life.strands)
        parts = gain_parts(self.beliefs, at, self.params)
        keeping, growing = (part[:, self.own].reshape(shape) for part in parts)
        return ask_value(keeping, growing, self.life.load.checks)

    def score(self, at):
        return self.value(at).sum(axis=-1).ravel()


class OursUnfitted(Ours):
    """On the priors throughout."""

    name = "ours, priors only"
    refits = ()


def told(params):
    """Ours, told the parameters of the world's population."""
    return type("Told", (Ours,), {"name": "ours, told", "refits": (), "given": params})


def population(world, load, players, strands, seed, live):
    """Our parameters that fit this world's population best, from other players' checks."""
    life = Life(world, load, players, strands, seed)
    policy = OursUnfitted(life)
    live(life, policy)
    return fit(policy.entries, policy.history, FITTED).parameters


class Oracle(Rule):
    """Knows the true state and what a check would do to it; greedy at a horizon."""

    name = "oracle, greedy"
    horizon = 5.0

    def score(self, at):
        true = self.life.learners
        rows = np.arange(len(self.asked_at))
        p = true.chance(rows, at)
        later = at + self.horizon
        value = -true.chance(rows, later)
        for came in (True, False):
            then = copy.copy(true)
            for name in true.changing:
                setattr(then, name, getattr(true, name).copy())
            then.rng = np.random.default_rng(0)
            then.learn(rows, at, np.full(p.shape, came), np.ones(p.shape))
            value += (p if came else 1 - p) * then.chance(rows, later)
        return value.sum(axis=1)
