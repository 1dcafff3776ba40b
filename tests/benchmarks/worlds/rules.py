"""Rules of thumb to beat. Each chooses ``checks`` tunes a day for every player."""

from __future__ import annotations

import numpy as np


class Rule:
    """Keeps what every rule may look at: when each tune was asked and what came."""

    name = ""

    def __init__(self, life, seed: int = 0):
        self.life = life
        self.rng = np.random.default_rng([seed, 21])
        n = life.players * life.load.tunes
        self.asked_at = -self.rng.random(n)
        self.met = np.zeros(n, dtype=np.int64)
        self.start()

    def start(self) -> None:
        """Set up what else the rule keeps."""

    def score(self, at: float):
        """(R,) who comes first: the highest."""
        raise NotImplementedError

    def react(self, rows, at: float, came) -> None:
        """Take in whether each of ``rows`` came (all strands at level 3 or more)."""

    def choose(self, day: int, at: float, who):
        score = self.score(at).reshape(self.life.players, -1)[who]
        return np.argpartition(-score, self.life.load.checks, axis=1)[:, : self.life.load.checks]

    def seen(self, rows, day: int, at: float, level) -> None:
        self.react(rows, at, (level >= 3).all(axis=1))
        self.asked_at[rows] = at
        self.met[rows] += 1


class InOrder(Rule):
    name = "in order"

    def score(self, at):
        return at - self.asked_at


class Random(Rule):
    name = "random"

    def score(self, at):
        return self.rng.random(len(self.asked_at))


class Expanding(Rule):
    """A gap for each tune: longer when it came, short again when not. Most overdue first."""

    name = "expanding gaps"
    growth, after_failure = 2.0, 0.0

    def start(self):
        self.gap = np.ones(len(self.asked_at))

    def score(self, at):
        return (at - self.asked_at) / self.gap

    def react(self, rows, at, came):
        gap = self.gap[rows]
        self.gap[rows] = np.where(
            came, gap * self.growth, np.maximum(gap * self.after_failure, 1.0)
        )


class ExpandingHalving(Expanding):
    """As before, but a failure only halves the gap."""

    name = "expanding, halving"
    after_failure = 0.5


class ExpandingStrongest(Expanding):
    """As the first, but of the tunes due the one with the longest gap comes first."""

    name = "expanding, strongest"

    def score(self, at):
        overdue = (at - self.asked_at) / self.gap
        return np.where(overdue >= 0.9, 1e3 + self.gap + 1e-3 * overdue, overdue)


class CardBox(Rule):
    """Five boxes looked into every 1, 2, 4, 8, 16 days (Leitner 1972 gives the boxes): what is
    due, first in first out; when nothing is due, the next to be."""

    name = "card box"

    def start(self):
        self.box = np.zeros(len(self.asked_at), dtype=np.int64)

    def score(self, at):
        return at - (self.asked_at + 2.0**self.box)

    def react(self, rows, at, came):
        self.box[rows] = np.where(came, np.minimum(self.box[rows] + 1, 4), 0)


class FixedGaps(Rule):
    """Gaps of 1, 3, 7, 14, 30, 60 days whatever came."""

    name = "fixed gaps"
    gaps = np.array([1.0, 3.0, 7.0, 14.0, 30.0, 60.0])

    def score(self, at):
        return (at - self.asked_at) / self.gaps[np.minimum(self.met, 5)]


class Memorize(Rule):
    """Drawn with weight 1 - m, m = e^(-n t); n shrinks when it came and grows when not.

    Tabibian, Upadhyay, De, Zarezade, Schoelkopf & Gomez-Rodriguez (2019), PNAS 116, 3988-3993;
    a fixed number a day instead of a rate.
    """

    name = "memorize"

    def start(self):
        self.rate = np.full(len(self.asked_at), 0.2)

    def score(self, at):
        weight = 1.0 - np.exp(-self.rate * (at - self.asked_at)) + 1e-9
        # The largest of these are a draw without replacement with those weights.
        return np.log(self.rng.random(len(weight))) / weight

    def react(self, rows, at, came):
        self.rate[rows] = np.clip(self.rate[rows] * np.where(came, 0.6, 1.6), 1e-3, 2.0)


RULES = (
    InOrder,
    Random,
    Expanding,
    ExpandingHalving,
    ExpandingStrongest,
    CardBox,
    FixedGaps,
    Memorize,
)
