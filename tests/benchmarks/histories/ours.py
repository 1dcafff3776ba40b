"""Our model on recall histories: a learner's items are held as the strands of one tune.

The kernel is ``tunememory.memory``'s own. Items share the learner's general level and those of
one group a little more, so that each outcome says something of all others through the joint
covariance. Levels 4 and 1 stand for right and wrong, with the cuts of the two levels between
closed up: the chance of "3 or 4" is then that of right. What the items of these histories differ
in is an offset of the mean. Before its first test an item was met, if ever, long ago (``before``,
days); every growth counts in full, as each test here was followed by the answer.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from tunememory.memory.bayes import posterior
from tunememory.memory.belief import Beliefs
from tunememory.memory.forgetting import elapsed_days, felt_days, widening
from tunememory.memory.parameters import PRIOR, Parameters
from tunememory.memory.update import EventRows, advance

DAY = 86400.0
CLOSED = 1e-9
"""Half the width left to the two levels between; on the logit scale."""


@dataclass(frozen=True)
class Trial:
    """What is fitted for everybody, each on a scale without bounds, with its prior."""

    slope: float = np.log(0.8)
    just_learned: float = 1.0
    gain: float = np.log(1.0)
    gain_power: float = np.log(0.7)
    gain_floor: float = np.log(0.3)
    gain_failed: float = 0.3
    gain_noise: float = np.log(0.3)
    haste: float = np.log(60.0)
    lapse: float = -3.5
    before: float = np.log(60.0)
    person_sd: float = np.log(1.2)
    group_sd: float = np.log(0.5)
    own_sd: float = np.log(0.9)


SPREAD = Trial(0.4, 1.5, 0.5, 0.5, 0.7, 0.4, 0.7, 1.0, 0.7, 1.5, 0.4, 0.6, 0.5)
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
    """The rows of some learners, laid out so that their k-th rows run together."""

    def __init__(self, data):
        self.data = data
        length = np.bincount(data.learner)
        begin = np.concatenate([[0], np.cumsum(length)])[:-1]
        longest = np.argsort(-length, kind="stable")
        self.length, self.begin = length[longest], begin[longest]
        self.strand = np.zeros(len(data.item), dtype=np.int64)
        self.width = 0
        for b, n in zip(begin, length, strict=True):
            own, place = np.unique(data.item[b : b + n], return_inverse=True)
            self.strand[b : b + n] = place
            self.width = max(self.width, len(own))
        shape = (len(length), self.width)
        self.item = np.zeros(shape, dtype=np.int64)
        self.group = np.full(shape, -1)
        self.present = np.zeros(shape, dtype=bool)
        place = np.empty(len(length), dtype=np.int64)
        place[longest] = np.arange(len(length))
        who = place[data.learner]
        self.item[who, self.strand] = data.item
        self.group[who, self.strand] = data.group
        self.present[who, self.strand] = True

    def foretell(self, found: dict[str, float], offset: np.ndarray) -> np.ndarray:
        """(N,) chance of success before each row that is a test; nan at studies."""
        kernel = {k: v for k, v in found.items() if k in PRIOR.as_dict()}
        params = replace(PRIOR, **kernel, join_in=-CLOSED, kick_off=CLOSED, spill=0.0, same_day=1.0)
        state = self._first(found, offset, params)
        said = np.full(len(self.data.item), np.nan)
        for k in range(int(self.length[0])):
            active = int(np.searchsorted(-self.length, -k, side="left"))
            rows = self.begin[:active] + k
            said[rows] = _step(
                state.first(active),
                self.strand[rows],
                self.data.seconds[rows] / DAY,
                self.data.outcome[rows],
                k,
                params,
            )
        return said

    def _first(self, found, offset, params) -> Beliefs:
        shape = self.present.shape
        same = self.group[:, :, None] == self.group[:, None, :]
        cov = found["person_sd"] ** 2 + found["group_sd"] ** 2 * same
        cov += found["own_sd"] ** 2 * np.eye(self.width)
        begun = self.data.seconds[self.begin] / DAY
        return Beliefs(
            mean=params.just_learned + offset[self.item],
            cov=cov,
            exposed_at=np.broadcast_to((begun - found["before"])[:, None], shape).copy(),
            gained_day=np.full(shape, -1),
            gains=np.zeros(shape, dtype=np.int64),
            checks=np.zeros(shape, dtype=np.int64),
            present=self.present,
        )


def _step(state: Beliefs, f, at, outcome, k: int, params: Parameters) -> np.ndarray:
    """One row of each learner: strand ``f`` goes through the kernel by itself.

    What the outcome says of the learner's other strands follows from the covariance, as in the
    kernel (where it would take a pass for each of the many strands).
    """
    who = np.arange(len(f))
    tests = outcome >= 0
    one = Beliefs(
        mean=state.mean[who, f][:, None],
        cov=state.cov[who, f, f][:, None, None],
        exposed_at=state.exposed_at[who, f][:, None],
        gained_day=state.gained_day[who, f][:, None],
        gains=state.gains[who, f][:, None],
        checks=state.checks[who, f][:, None],
        present=np.ones((len(who), 1), dtype=bool),
    )
    elapsed = elapsed_days(one.exposed_at[:, 0], at)
    wider = widening(elapsed, params)
    state.cov[who, f, f] += wider
    mean, variance = state.mean[who, f], state.cov[who, f, f]
    level = np.where(outcome == 1, 4, 1)
    log_time = np.log(felt_days(elapsed, params))
    _, new_mean, new_variance = posterior(mean, variance, log_time, level - 1, params)
    new_mean = np.where(tests, new_mean, mean)
    new_variance = np.where(tests, new_variance, variance)
    share = state.cov[who, :, f] / variance[:, None]
    state.mean[...] += share * (new_mean - mean)[:, None]
    change = share * (new_variance - variance)[:, None]
    state.cov[...] += change[:, :, None] * share[:, None, :]
    events = EventRows(
        at=at,
        day=np.full(len(who), k),
        level=np.where(tests, level, 0)[:, None],
        exposed=~tests[:, None],
        minutes=np.ones(len(who)),
    )
    said = advance(one, events, params).chance[:, 0]
    state.mean[who, f] = one.mean[:, 0]
    state.cov[who, f, f] = one.cov[:, 0, 0]
    state.exposed_at[who, f] = one.exposed_at[:, 0]
    return said
