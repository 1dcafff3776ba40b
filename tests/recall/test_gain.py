import dataclasses
import math

import numpy as np
import pytest
from scipy import special, stats

from tests.outside.recall.populations import level_chances
from tests.recall.made_up import made_up
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.check import column_of
from tunememory.recall.forgetting import chance, felt_days, widening
from tunememory.recall.gain import strand_gain
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import replay
from tunememory.recall.update import CheckEvent, after

A = column_of("A")


def exact_gain(beliefs, at, params, horizon, tune, column):
    """The same expectation by a fine grid over x and over the noise of growth."""
    mean, elapsed = beliefs.mean[tune, column], at - beliefs.exposed_at[tune, column]
    wide = np.array([elapsed, elapsed + horizon, horizon])
    w_now, w_not, w_asked = widening(wide, params)
    sd = math.sqrt(beliefs.cov[tune, column, column] + w_now)
    x = np.linspace(mean - 9 * sd, mean + 9 * sd, 1201)
    weight = stats.norm.pdf(x, mean, sd)
    weight /= weight.sum()
    noise = stats.norm.ppf((np.arange(400) + 0.5) / 400)

    def lapsed(z):
        return params.lapse / 2 + (1 - params.lapse) * special.expit(z)

    def later(shift, felt, variance):
        z = params.slope * (x[:, None] + shift + math.sqrt(variance) * noise - math.log(felt))
        return lapsed(z).mean(axis=1)

    felt = felt_days(wide, params)
    now = params.slope * (x - math.log(felt[0]))
    ok, best = lapsed(now), lapsed(now - params.kick_off)
    p = float(weight @ ok)
    grown = params.gain * (1 - p) ** params.gain_power + params.gain_floor
    grown *= math.exp(-params.gain_wane * max(mean - params.just_learned, 0.0))
    noise_variance = params.gain_noise + w_asked
    asked = (
        best * later(grown, felt[2], noise_variance)
        + (ok - best) * later(params.gain_found * grown, felt[2], noise_variance)
        + (1 - ok) * later(params.gain_failed, felt[2], noise_variance)
    )
    return float(weight @ (asked - later(0.0, felt[1], max(w_not - w_now, 0.0))))


def test_close_to_a_fine_grid():
    firsts, histories = made_up(8, 6, seed=8)
    beliefs = stack(replay(firsts, histories, PRIOR))
    at = float(np.nanmax(beliefs.exposed_at)) + 1.0
    for horizon in (4.0, 30.0):
        got = strand_gain(beliefs, at, PRIOR, horizon)
        for tune, column in np.argwhere(beliefs.present):
            wanted = exact_gain(beliefs, at, PRIOR, horizon, tune, column)
            assert got[tune, column] == pytest.approx(wanted, abs=0.005)


def test_agrees_with_playing_it_through_by_the_update():
    belief = first_belief((A,), Declared.KNOWN, 0.0, PRIOR)
    # With certain knowledge of x the four outcomes can be walked through one by one.
    belief = dataclasses.replace(belief, cov=belief.cov * 1e-6)
    params = dataclasses.replace(PRIOR, gain_noise=1e-9)
    beliefs = stack([belief])
    levels = level_chances(beliefs, 6.0, params)[0, A]
    asked = 0.0
    for level in (1, 2, 3, 4):
        then = after(belief, CheckEvent(6.0, 6, ((A, level),)), params)
        asked += levels[level - 1] * chance(stack([then]), 16.0, params)[0, A]
    wanted = asked - chance(beliefs, 16.0, params)[0, A]
    assert strand_gain(beliefs, 6.0, params, 10.0)[0, A] == pytest.approx(wanted, abs=1e-4)


def test_absent_strands_have_no_gain_and_a_third_check_of_the_day_gains_little():
    beliefs = stack([first_belief((0, 2), Declared.KNOWN, 0.0, PRIOR)])
    assert np.isnan(strand_gain(beliefs, 5.0, PRIOR, 7.0)[0, 1])
    belief = beliefs.tune(0)
    for at in (5.0, 5.02):
        belief = after(belief, CheckEvent(at, 5, ((2, 3),)), PRIOR)
    spent = stack([belief])
    again = strand_gain(spent, 5.04, PRIOR, 7.0, day=5)[0, 2]
    tomorrow = strand_gain(spent, 5.04, PRIOR, 7.0, day=6)[0, 2]
    assert again < 0.01
    assert tomorrow > 4 * abs(again)
