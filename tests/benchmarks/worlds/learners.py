"""Simulated players whose memory works otherwise than our model says.

A ``Learners`` holds R rows (one for each player and tune, players outermost) of F strands.
Differences between players, tunes and strands enter as ``ease``: a normal deviate that each
world turns into slower forgetting or easier recall.
"""

from __future__ import annotations

from abc import ABC, abstractmethod

import numpy as np

PLAYER_SD, TUNE_SD, STRAND_SD = 0.6, 0.6, 0.4


class Learners(ABC):
    """R rows of F strands and what happens to them. Times are in days."""

    name = ""
    changing: tuple[str, ...] = ("last",)
    """Arrays that a check changes."""

    def __init__(self, rng, players: int, tunes: int, strands: int, twin_share: float = 0.1):
        self.rng = rng
        self.players, self.tunes, self.strands = players, tunes, strands
        shape = (players, tunes, strands)
        ease = (
            PLAYER_SD * rng.normal(size=(players, 1, 1))
            + TUNE_SD * rng.normal(size=(players, tunes, 1))
            + STRAND_SD * rng.normal(size=shape)
        )
        # The first tunes come in pairs that begin alike: harder to keep, and apt to be confused.
        self.twins = int(tunes * twin_share) // 2 * 2
        ease[:, : self.twins] -= 0.5
        self.ease = ease.reshape(-1, strands)
        self.last = np.full(self.ease.shape, -1e3)
        self.begin()

    @abstractmethod
    def begin(self) -> None:
        """Set up the state of rows that have never been met."""

    @abstractmethod
    def chance(self, rows, at: float):
        """(len(rows), F) true chance of success at ``at``."""

    @abstractmethod
    def learn(self, rows, at: float, came, amount) -> None:
        """Meet the strands of ``rows``: ``came`` (…, F) whether they were recalled unaided.

        ``amount`` (…, F) is 1 for a check with its answer, less for playing along.
        """

    def twin_of(self, rows):
        """Row of each row's twin, or -1."""
        tune = rows % self.tunes
        return np.where(tune < self.twins, rows - tune + (tune ^ 1), -1)


class Multiscale(Learners):
    """Multiscale context model: Mozer, Pashler, Cepeda, Lindsey & Vul (2009), NIPS 22, 1321-1329.

    Leaky traces of many time constants, each learning only what the shorter ones lack.
    """

    name = "multiscale"

    changing: tuple[str, ...] = ("last", "trace")

    def begin(self):
        k = 9
        self.tau = 0.03 * 4.2 ** np.arange(k) * np.exp(0.7 * self.ease)[..., None]
        weight = 0.78 ** np.arange(k)
        self.weight = weight / weight.sum()
        self.upto = np.cumsum(self.weight)
        self.trace = np.zeros((*self.ease.shape, k))

    def _now(self, rows, at):
        lag = np.maximum(at - self.last[rows], 0.0)[..., None]
        return self.trace[rows] * np.exp(-lag / self.tau[rows])

    def chance(self, rows, at):
        return np.clip(1.15 * (self._now(rows, at) * self.weight).sum(-1), 0.01, 0.985)

    def learn(self, rows, at, came, amount):
        trace = self._now(rows, at)
        held = np.cumsum(trace * self.weight, axis=-1) / self.upto
        rate = np.where(came, 1.6, 0.4) * amount
        self.trace[rows] = trace + rate[..., None] * np.maximum(1.0 - held, 0.0)
        self.last[rows] = at


class _Presentations(Learners):
    """Worlds that remember every presentation (the last 80 of each strand)."""

    kept = 80

    changing: tuple[str, ...] = ("last", "when", "count", "mark")

    def begin(self):
        self.when = np.full((*self.ease.shape, self.kept), np.nan)
        self.count = np.zeros(self.ease.shape)
        self.mark = np.zeros((*self.ease.shape, self.kept))

    def _push(self, rows, at, mark):
        self.when[rows] = np.roll(self.when[rows], 1, axis=-1)
        self.mark[rows] = np.roll(self.mark[rows], 1, axis=-1)
        where = (rows, slice(None), 0)
        self.when[where] = at
        self.mark[where] = mark
        self.last[rows] = at

    def _used(self):
        """How many of the kept places hold anything anywhere."""
        return max(int((~np.isnan(self.when)).any(axis=(0, 1)).sum()), 1)


class Activation(_Presentations):
    """Decay set at encoding: Pavlik & Anderson (2005), Cognitive Science 29, 559-586.

    Traces decay as t^-d with d = c e^m + a, m the activation when the trace was laid.
    """

    name = "activation"

    changing: tuple[str, ...] = ("last", "when", "count", "mark", "size")

    def begin(self):
        super().begin()
        self.size = np.ones((*self.ease.shape, self.kept))

    def _activation(self, rows, at):
        n = self._used()
        seconds = np.maximum(at - self.when[rows][..., :n], 1e-3) * 86_400 * 0.025
        strength = self.size[rows][..., :n] * seconds ** -self.mark[rows][..., :n]
        strength[np.isnan(seconds)] = 0.0
        return np.log(strength.sum(axis=-1) + 1e-9)

    def chance(self, rows, at):
        z = (self._activation(rows, at) + 0.32 * self.ease[rows] + 0.95) / 0.35
        return 0.01 + 0.975 / (1.0 + np.exp(-z))

    def learn(self, rows, at, came, amount):
        decay = 0.217 * np.exp(np.minimum(self._activation(rows, at), 1.2)) + 0.177
        self.size[rows] = np.roll(self.size[rows], 1, axis=-1)
        self.size[rows, :, 0] = np.where(came, 1.1, 0.8) * amount
        self._push(rows, at, decay)


class Performance(_Presentations):
    """Predictive performance equation: Walsh, Gluck, Gunzelmann, Jastrzembski, Krusmark, Myung,
    Pitt & Zhou (2018), Cognitive Science 42, 644-691."""

    name = "performance"

    def _model(self, rows, at):
        n = self._used()
        age = np.maximum(at - self.when[rows][..., :n], 1e-3) * 86_400
        weight = age**-0.6
        elapsed = np.nansum(weight * age, axis=-1) / np.maximum(np.nansum(weight, -1), 1e-12)
        lags = self.when[rows][..., : n - 1] - self.when[rows][..., 1:n]
        inverse = 1.0 / np.log(np.maximum(lags, 1e-3) * 86_400 + np.e)
        pairs = np.maximum((~np.isnan(inverse)).sum(-1), 1)
        decay = 0.045 + 0.33 * np.nansum(inverse, -1) / pairs
        decay = np.where(self.count[rows] < 2, 0.075, decay)
        count = np.maximum(self.count[rows], 1e-3)
        return np.where(self.count[rows] > 0, count**0.16 * np.maximum(elapsed, 1.0) ** -decay, 0.0)

    def chance(self, rows, at):
        z = (self._model(rows, at) - 0.47 + 0.06 * self.ease[rows]) / 0.07
        return 0.01 + 0.975 / (1.0 + np.exp(-z))

    def learn(self, rows, at, came, amount):
        self.count[rows] += np.where(came, 1.15, 0.75) * amount
        self._push(rows, at, 0.0)


class HalfLife(Learners):
    """Exponential forgetting whose half-life grows more, the longer the wait that succeeded.

    The half-life is Settles & Meeder's (2016, ACL, 1848-1858) quantity; the growth law with its
    limit by wait and by size, and halving on failure, are our own invention for this test.
    """

    name = "half-life"

    changing: tuple[str, ...] = ("last", "half")

    def begin(self):
        self.half = np.full(self.ease.shape, 4.0) * np.exp(0.6 * self.ease)

    def chance(self, rows, at):
        lag = np.maximum(at - self.last[rows], 0.0)
        return np.clip(0.985 * 2.0 ** (-lag / self.half[rows]), 0.01, None)

    def learn(self, rows, at, came, amount):
        p = self.chance(rows, at)
        half = self.half[rows]
        growth = 1.0 + 3.2 * np.exp(0.35 * self.ease[rows]) * (1.0 - p) ** 0.8 * half**-0.12
        grown = half * np.where(came, growth, 0.7 + 0.2 * p)
        self.half[rows] = np.maximum(half + amount * (grown - half), 1.2)
        self.last[rows] = at


class Asymptote(Learners):
    """Exponential of root time above a floor that lasts.

    e^(-m sqrt t) is one of the four forms left by Rubin & Wenzel (1996), Psychological Review
    103, 734-760; the lasting floor is Averell & Heathcote's (2011), Journal of Mathematical
    Psychology 55, 25-35. Sessions a day or more apart count in full.
    """

    name = "asymptote"

    changing: tuple[str, ...] = ("last", "sessions")

    def begin(self):
        self.sessions = np.zeros(self.ease.shape)

    def chance(self, rows, at):
        lag = np.maximum(at - self.last[rows], 0.0)
        n = self.sessions[rows]
        floor = 0.6 * (1.0 - np.exp(-n / 14.0))
        rate = 0.5 * np.exp(-0.5 * self.ease[rows]) / (1.0 + 0.45 * n)
        p = floor + (0.985 - floor) * np.exp(-rate * np.sqrt(lag))
        return np.where(n > 0, np.clip(p, 0.01, None), 0.01)

    def learn(self, rows, at, came, amount):
        lag = np.maximum(at - self.last[rows], 0.0)
        n = self.sessions[rows]
        step = amount * (1.0 - np.exp(-lag / 1.5)) * np.where(came, 1.0, 0.5)
        self.sessions[rows] = np.where(came, n, 0.8 * n) + step
        self.last[rows] = at


class AllOrNone(Learners):
    """Hidden states that are lost at once or not at all, each with its own rate.

    After the all-or-none learning of Bower (1961), Psychometrika 26, 255-280, with forgetting
    between sessions as in Atkinson & Crothers (1964), JMP 1, 285-315. Kept for confirmation:
    no policy was chosen by it.
    """

    name = "all-or-none"
    rates = np.array([1e9, 1 / 4.0, 1 / 28.0, 1 / 350.0])

    changing: tuple[str, ...] = ("last", "state")

    def begin(self):
        self.state = np.zeros(self.ease.shape, dtype=np.int64)

    def chance(self, rows, at):
        lag = np.maximum(at - self.last[rows], 0.0)
        rate = self.rates[self.state[rows]] * np.exp(-0.8 * self.ease[rows])
        return 0.01 + 0.97 * np.exp(-np.minimum(rate * lag, 50.0))

    def learn(self, rows, at, came, amount):
        lag = np.maximum(at - self.last[rows], 0.0)
        state = self.state[rows]
        draw = self.rng.random(state.shape)
        up = np.select(
            [state == 0, state == 1, state == 2],
            [1.0, 0.75 * (1 - np.exp(-lag / 1.5)), 0.5 * (1 - np.exp(-lag / 8.0))],
            0.0,
        )
        kept = np.where(came, state, np.maximum(state - 1, 0))
        self.state[rows] = np.where(
            draw < up * amount, np.minimum(kept + 1, 3), np.maximum(kept, 1)
        )
        self.last[rows] = at


CHOOSING = (Multiscale, Activation, Performance, HalfLife, Asymptote)
"""Worlds the policy was chosen on."""

CONFIRMING = (AllOrNone,)
"""Worlds looked at once, after choosing."""
