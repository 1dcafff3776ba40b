"""Whether ranges hold what they say, on simulated players whose memory is as the model says.

Simulated players as the prior has them; own method, after Cook, Gelman & Rubin (2006), Journal
of Computational and Graphical Statistics 15, 675-692. Every player has true parameters, and every
strand a true stability that the levels come from, which nobody looks at but to judge the ranges.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy import special, stats

from tunememory.music.tune import Declared
from tunememory.recall.belief import Entry, first_belief, first_beliefs, stack
from tunememory.recall.fitting import fit_players
from tunememory.recall.forgetting import chance_range, elapsed_days, felt_days, widening
from tunememory.recall.parameters import PRIOR, PRIORS, from_working, side_by_side, to_working
from tunememory.recall.replay import replay
from tunememory.recall.update import CheckEvent, advance_some, event_rows

NAMES = tuple(name for name in PRIORS if name != "lapse")
"""What the players differ in and is fitted. Not the lapse: of a strand that is never forgotten
the true chance is 1 less half the lapse, and a range of a hair's breadth about another lapse
misses it by less than anybody would notice."""

DAYS = 300.0
COLUMNS = (0, 2, 3)


@dataclass
class Lives:
    """Players, their tunes, what was checked and what is true in the end."""

    each: list
    entries: list
    owner: np.ndarray
    histories: list
    true: np.ndarray
    exposed_at: np.ndarray

    def chances(self, at, rng):
        """(T, F) true chance of a level of 3 or 4 of each strand."""
        params = side_by_side([self.each[p] for p in self.owner])
        elapsed = elapsed_days(self.exposed_at, at).T
        x = self.true.T + rng.normal(0.0, np.sqrt(widening(elapsed, params)))
        return success(x, np.log(felt_days(elapsed, params)), params, 0.0).T


def success(x, log_time, params, cut):
    p = special.expit(params.slope * (x - log_time) - cut)
    return params.lapse / 2 + (1 - params.lapse) * p


def live(players: int, tunes: int, checks: int, seed: int) -> Lives:
    """One strand a check. The law of growth is written out afresh."""
    rng = np.random.default_rng(seed)
    centre = to_working(PRIOR, NAMES)
    sd = np.array([PRIORS[name].sd for name in NAMES])
    each = [
        from_working(centre + sd * rng.standard_normal(len(NAMES)), NAMES) for _ in range(players)
    ]
    words = list(Declared)
    entries = [Entry(COLUMNS, words[int(rng.integers(4))], 0.0) for _ in range(players * tunes)]
    owner = np.repeat(np.arange(players), tunes)
    params = side_by_side([each[p] for p in owner])
    beliefs = first_beliefs(entries, params)
    true = np.array(
        [rng.multivariate_normal(m, c) for m, c in zip(beliefs.mean, beliefs.cov, strict=True)]
    )
    histories = [[] for _ in entries]
    who = np.arange(players)
    for at in np.sort(rng.uniform(0.5, DAYS, checks)):
        rows = who * tunes + rng.integers(0, tunes, players)
        column = rng.choice(COLUMNS, players)
        own, some = params.of_rows(rows), beliefs.rows(rows)
        elapsed = elapsed_days(some.exposed_at[who, column], at)
        true[rows, column] += rng.normal(0.0, np.sqrt(widening(elapsed, own)))
        log_time = np.log(felt_days(elapsed, own))
        luck = rng.random(players)
        level = 1 + sum(
            luck < success(true[rows, column], log_time, own, cut)
            for cut in (own.join_in, 0.0, own.kick_off)
        )
        events = [
            CheckEvent(float(at), int(at), ((int(c), int(y)),))
            for c, y in zip(column, level, strict=True)
        ]
        known = np.maximum(some.mean[who, column] - own.just_learned, 0.0)
        again = some.gained_day[who, column] == int(at)
        left = np.where(again, np.where(some.gains[who, column] == 1, own.same_day, 0.0), 1.0)
        doubt = 1.0 - advance_some(beliefs, rows, event_rows(events, 4), params).chance[who, column]
        grown = (own.gain * doubt**own.gain_power + own.gain_floor) * np.exp(-own.gain_wane * known)
        by_level = np.array([own.gain_failed, own.gain_failed, own.gain_found * grown, grown])
        gain = left * by_level[level - 1, who]
        for c in COLUMNS:
            true[rows, c] += gain * np.where(c == column, 1.0, own.spill)
        true[rows, column] += rng.normal(0.0, np.sqrt(own.gain_noise * left))
        for row, event in zip(rows, events, strict=True):
            histories[row].append(event)
    return Lives(each, entries, owner, histories, true, beliefs.exposed_at)


@pytest.fixture(scope="module")
def lives():
    return live(players=48, tunes=40, checks=800, seed=12)


@pytest.fixture(scope="module")
def fitted(lives):
    return fit_players(lives.entries, lives.histories, lives.owner, NAMES)


@pytest.mark.slow
@pytest.mark.parametrize("width", [0.5, 0.9])
def test_ranges_of_parameters_hold_what_they_say(lives, fitted, width):
    held = []
    for one, true in zip(fitted, lives.each, strict=True):
        ends = one.ranges(width)
        held += [low < getattr(true, name) < high for name, (low, high) in ends.items()]
    # As many as binomial luck allows, 99 times in 100.
    low, high = stats.binom(len(held), width).interval(0.99)
    assert low <= sum(held) <= high, sum(held) / len(held)


@pytest.mark.slow
@pytest.mark.parametrize("width", [0.5, 0.9])
def test_ranges_of_chances_hold_what_they_say(lives, fitted, width):
    def shares(params):
        """Share of each player's strands whose true chance is in the range given."""
        rng = np.random.default_rng(3)
        at = DAYS + 3.0
        true = lives.chances(at, rng)
        found = []
        for p, own in enumerate(params):
            tunes = np.flatnonzero(lives.owner == p)
            entries = [lives.entries[t] for t in tunes]
            firsts = [first_belief(e.columns, e.declared, e.added_at, own) for e in entries]
            beliefs = stack(replay(firsts, [lives.histories[t] for t in tunes], own))
            low, high = chance_range(beliefs, at, own, width)
            held = (low <= true[tunes]) & (true[tunes] <= high)
            found.append(held[beliefs.present].mean())
        return np.array(found)

    known = shares(lives.each)
    assert known.mean() == pytest.approx(width, abs=3 * stats.sem(known))
    # What the fit leaves open of the parameters is not in the range of a chance: a little less.
    learned = shares([one.parameters for one in fitted])
    assert width - 0.03 - 3 * stats.sem(learned) < learned.mean() < width + 3 * stats.sem(learned)
    # Who is not like the starting values needs the fit.
    assert shares([PRIOR] * len(fitted)).mean() < learned.mean() - 0.05
