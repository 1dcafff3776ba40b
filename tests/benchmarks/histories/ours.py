"""Our model on recall histories: a learner's items are held as the strands of one tune.

The kernel is ``tunememory.recall``'s own. Items share the learner's general level and those of
one group a little more, so that each outcome says something of all others through the joint
covariance. Levels 4 and 1 stand for right and wrong, with the cuts of the two levels between
closed up: the chance of "3 or 4" is then that of right. What the items of these histories differ
in is an offset of the mean. Before its first test an item was met, if ever, long ago (``before``,
days); every growth counts in full, as each test here was followed by the answer.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from tunememory.recall.belief import Beliefs
from tunememory.recall.forgetting import elapsed_days, felt_days, widening
from tunememory.recall.parameters import PRIOR, Parameters
from tunememory.recall.update import FAST, EventRows, advance, posterior

DAY = 86400.0
CLOSED = 1e-9
"""Half the width left to the two levels between; on the logit scale."""


@dataclass(frozen=True)
class Trial:
    """What is fitted for everybody, each on a scale without bounds, with the middle of its prior.

    What a laboratory does not change begins where a player begins. Drill is denser than practice,
    so time within a sitting counts for more.
    """

    slope: float = np.log(PRIOR.slope)
    just_learned: float = 1.0
    gain: float = np.log(PRIOR.gain)
    gain_power: float = np.log(PRIOR.gain_power)
    gain_floor: float = np.log(PRIOR.gain_floor)
    gain_failed: float = PRIOR.gain_failed
    gain_noise: float = np.log(PRIOR.gain_noise)
    haste: float = np.log(200.0)
    sitting: float = np.log(PRIOR.sitting)
    lapse: float = np.log(PRIOR.lapse / (1.0 - PRIOR.lapse))
    before: float = np.log(60.0)
    person_sd: float = np.log(1.2)
    group_sd: float = np.log(0.5)
    own_sd: float = np.log(0.9)


SPREAD = Trial(0.4, 1.5, 0.5, 0.5, 0.7, 0.4, 0.7, 1.0, 1.0, 0.7, 1.5, 0.4, 0.6, 0.5)
"""Standard deviations of the priors."""

NAMES = tuple(f.name for f in fields(Trial))
PLAIN = ("just_learned", "gain_failed")
"""Fitted as they are; the others as logarithms, the lapse as a logit."""


def vector(trial: Trial) -> np.ndarray:
    return np.array([getattr(trial, name) for name in NAMES])


def values(free: np.ndarray) -> dict[str, float]:
    found = {}
    for name, at in zip(NAMES, free, strict=True):
        if name == "lapse":
            found[name] = float(1.0 / (1.0 + np.exp(-at)))
        else:
            found[name] = float(at if name in PLAIN else np.exp(at))
    return found


class Learners:
    """The rows of L learners, laid out so that their k-th rows run together.

    Learners, those with most rows first, are the last axis of every array here; W is the most
    items any of them has.
    """

    def __init__(self, data):
        self.data = data
        length = np.bincount(data.learner)
        begin = np.concatenate([[0], np.cumsum(length)])[:-1]
        self.learner = np.argsort(-length, kind="stable")
        self.length, self.begin = length[self.learner], begin[self.learner]
        self.strand = np.zeros(len(data.item), dtype=np.int64)
        self.width = 0
        for b, n in zip(begin, length, strict=True):
            own, place = np.unique(data.item[b : b + n], return_inverse=True)
            self.strand[b : b + n] = place
            self.width = max(self.width, len(own))
        shape = (self.width, len(length))
        self.item = np.zeros(shape, dtype=np.int64)
        self.group = np.full(shape, -1)
        self.present = np.zeros(shape, dtype=bool)
        place = np.empty(len(length), dtype=np.int64)
        place[self.learner] = np.arange(len(length))
        who = place[data.learner]
        self.item[self.strand, who] = data.item
        self.group[self.strand, who] = data.group
        self.present[self.strand, who] = True

    def foretell(self, found: dict[str, float], offset: np.ndarray) -> np.ndarray:
        """(N,) chance of success before each row that is a test; nan at studies."""
        said = np.full(len(self.data.item), np.nan)
        for rows, step in self._through(found, offset):
            said[rows] = step.said
        return said

    def item_scores(self, found: dict[str, float], offset: np.ndarray) -> np.ndarray:
        """(items, L) derivative of each learner's log likelihood by each item's offset.

        Along the way an offset moves the means as it moves the first ones, times what the outcomes
        since have left of them; its small effect on variances and growth is left out. Learners
        are in the order of the data.
        """
        width, count = self.present.shape
        moves = np.tile(np.eye(width)[:, :, None], (1, 1, count))
        slope = np.zeros((width, count))
        for rows, step in self._through(found, offset):
            who = np.arange(len(rows))
            own = moves[step.strand, :, who].T
            slope[:, who] += np.where(self.data.scored[rows], step.surprise, 0.0) * own
            fading = step.left * own
            for w in range(width):
                moves[w, :, : len(who)] += step.share[w] * fading
        scores = np.zeros((len(offset), count))
        strand, who = np.nonzero(self.present)
        scores[self.item[strand, who], self.learner[who]] = slope[strand, who]
        return scores

    def _through(self, found, offset):
        """Go through the k-th rows of all learners at once: which rows, and what they did."""
        kernel = {k: v for k, v in found.items() if k in PRIOR.as_dict()}
        params = replace(PRIOR, **kernel, join_in=-CLOSED, kick_off=CLOSED, spill=0.0, same_day=1.0)
        state = self._first(found, offset, params)
        for k in range(int(self.length[0])):
            active = int(np.searchsorted(-self.length, -k, side="left"))
            rows = self.begin[:active] + k
            at, outcome = self.data.seconds[rows] / DAY, self.data.outcome[rows]
            yield rows, state.step(self.strand[rows], at, outcome, params)

    def _first(self, found, offset, params) -> State:
        same = self.group[:, None, :] == self.group[None, :, :]
        cov = found["person_sd"] ** 2 + found["group_sd"] ** 2 * same
        cov += found["own_sd"] ** 2 * np.eye(self.width)[:, :, None]
        begun = self.data.seconds[self.begin] / DAY
        return State(
            mean=params.just_learned + offset[self.item],
            cov=cov,
            exposed_at=np.broadcast_to(begun - found["before"], self.present.shape).copy(),
        )


@dataclass(frozen=True)
class Step:
    """What one row of each learner did.

    ``said`` is the chance of success; ``surprise`` the derivative of the log chance of what came
    by the mean of its ``strand``, 0 for a study; ``share`` (W, L) how far the mean of each strand
    goes with that of this one; ``left`` the relative change of the variance.
    """

    strand: np.ndarray
    said: np.ndarray
    surprise: np.ndarray
    share: np.ndarray
    left: np.ndarray


@dataclass(frozen=True)
class State:
    """Belief about the W strands of L learners.

    ``mean`` and ``exposed_at`` are (W, L), ``cov`` (W, W, L): of it only the lower half is kept.
    """

    mean: np.ndarray
    cov: np.ndarray
    exposed_at: np.ndarray

    def step(self, f, at, outcome, params: Parameters) -> Step:
        """Take in one row of the first learners: strand ``f`` goes through the kernel by itself.

        What the outcome says of the learner's other strands follows from the covariance, as in
        the kernel (where it would take a pass for each of the many strands).
        """
        who, every = np.arange(len(f)), np.arange(len(self.mean))[:, None]
        tests = outcome >= 0
        elapsed = elapsed_days(self.exposed_at[f, who], at)
        one = Beliefs(
            mean=self.mean[f, who][:, None],
            cov=self.cov[f, f, who][:, None, None],
            exposed_at=self.exposed_at[f, who][:, None],
            gained_day=np.zeros((len(who), 1), dtype=np.int64),
            gains=np.zeros((len(who), 1), dtype=np.int64),
            checks=np.zeros((len(who), 1), dtype=np.int64),
            present=np.ones((len(who), 1), dtype=bool),
        )
        self.cov[f, f, who] += widening(elapsed, params)
        mean, variance = self.mean[f, who], self.cov[f, f, who]
        level = np.where(outcome == 1, 4, 1)
        log_time = np.log(felt_days(elapsed, params))
        _, new_mean, new_variance = posterior(mean, variance, log_time, level - 1, params, FAST)
        # Derivatives of ln Z and of the posterior mean by the prior mean (Tweedie's formula).
        surprise = np.where(tests, (new_mean - mean) / variance, 0.0)
        left = np.where(tests, new_variance / variance - 1.0, 0.0)
        share = self.cov[np.maximum(every, f), np.minimum(every, f), who] / variance
        self.mean[:, : len(who)] += share * (variance * surprise)
        change = share * (variance * left)
        for w in range(len(share)):
            self.cov[w, : w + 1, : len(who)] += share[w] * change[: w + 1]
        events = EventRows(
            at=at,
            day=np.ones(len(who), dtype=np.int64),
            level=np.where(tests, level, 0)[:, None],
            exposed=~tests[:, None],
            minutes=np.ones(len(who)),
        )
        said = advance(one, events, params, FAST).chance[:, 0]
        self.mean[f, who] = one.mean[:, 0]
        self.cov[f, f, who] = one.cov[:, 0, 0]
        self.exposed_at[f, who] = one.exposed_at[:, 0]
        return Step(f, said, surprise, share, left)
