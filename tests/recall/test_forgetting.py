import dataclasses
import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from tests.outside.recall.populations import level_chances
from tests.recall.made_up import made_up
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.forgetting import chance, chance_range, elapsed_days, felt_days, widening
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import replay


def one(at=0.0, declared=Declared.NEW, columns=(0, 2)):
    return stack([first_belief(columns, declared, at, PRIOR)])


def test_chance_is_integrated_over_the_belief():
    beliefs = one()
    t = 0.01 + 6.0 + 19 * 10 / 1440  # ten minutes count twenty times
    for column in (0, 2):
        mean, sd = beliefs.mean[0, column], math.sqrt(beliefs.cov[0, column, column])
        wanted = integrate.quad(
            lambda z, m=mean, s=sd: special.expit(m + s * z - math.log(t)) * stats.norm.pdf(z),
            -12,
            12,
        )[0]
        got = chance(beliefs, 6.0, PRIOR)[0, column]
        assert got == pytest.approx(0.015 + 0.97 * wanted, abs=1e-5)


def test_half_is_forgotten_after_s_days_when_s_is_known():
    beliefs = one()
    sure = dataclasses.replace(beliefs, cov=beliefs.cov * 1e-9, mean=np.full((1, 3), math.log(5)))
    plain = dataclasses.replace(PRIOR, haste=1.0, lapse=0.0, gap_widening=0.0)
    assert chance(sure, 4.99, plain)[0, 0] == pytest.approx(0.5, abs=1e-6)
    # Power law in the odds: nine times as long, odds of one in nine.
    assert chance(sure, 44.99, plain)[0, 0] == pytest.approx(0.1, abs=1e-6)


def test_absent_strands_have_no_chance():
    beliefs = one()
    assert np.isnan(chance(beliefs, 3.0, PRIOR)[0, 1])
    assert np.isnan(chance_range(beliefs, 3.0, PRIOR)[0][0, 1])


def test_levels_sum_to_one_and_the_top_two_are_the_chance():
    firsts, histories = made_up(40, 6, seed=1)
    beliefs = stack(replay(firsts, histories, PRIOR))
    levels = level_chances(beliefs, 9500.0, PRIOR)[beliefs.present]
    assert (levels > 0).all()
    assert levels.sum(axis=-1) == pytest.approx(1.0)
    assert levels[:, 2:].sum(axis=-1) == pytest.approx(
        chance(beliefs, 9500.0, PRIOR)[beliefs.present]
    )


def test_the_range_holds_the_stated_share_of_the_belief():
    beliefs = one()
    low, high = chance_range(beliefs, 4.0, PRIOR, width=0.8)
    rng = np.random.default_rng(7)
    x = rng.normal(beliefs.mean[0, 2], math.sqrt(beliefs.cov[0, 2, 2]), 200_000)
    t = felt_days(np.array(4.0), PRIOR)
    p = 0.015 + 0.97 * special.expit(x - np.log(t))
    assert np.mean((p > low[0, 2]) & (p < high[0, 2])) == pytest.approx(0.8, abs=0.005)


def test_chance_falls_with_time_from_near_certain_to_near_nothing():
    beliefs = one()
    series = [chance(beliefs, at, PRIOR)[0, 0] for at in (0, 0.01, 0.5, 1, 3, 10, 50, 400, 4000)]
    assert series == sorted(series, reverse=True)
    assert series[0] > 0.95
    assert series[-1] < 0.1


def test_a_clock_set_back_is_no_time_at_all():
    assert elapsed_days(np.array([10.0, np.nan]), 3.0).tolist() == [0.0, 0.0]
    beliefs = one(at=10.0)
    assert chance(beliefs, 3.0, PRIOR)[0, 0] == chance(beliefs, 10.0, PRIOR)[0, 0]


def test_minutes_of_playing_forget_faster_than_hours_of_rest():
    minute = 1 / 1440
    felt = felt_days(minute * np.array([0, 4, 10, 15, 15 + 1440]), PRIOR)
    assert np.diff(felt) == pytest.approx(minute * np.array([20 * 4, 20 * 6, 5, 1440]))


def test_a_gap_widens_the_belief_and_three_weeks_do_not():
    wider = widening(np.array([0.0, 7.0, 21.0, 42.0, 90.0, 365.0]), PRIOR)
    assert wider[:3].tolist() == [0.0, 0.0, 0.0]
    assert wider[3] == pytest.approx(PRIOR.gap_widening)
    assert (np.diff(wider[2:]) > 0).all()


def test_after_a_gap_the_range_is_wider_than_the_same_fall_without_widening():
    beliefs = one(declared=Declared.OLD_FRIEND)
    low, high = chance_range(beliefs, 90.0, PRIOR)
    narrow = dataclasses.replace(PRIOR, gap_widening=0.0)
    low0, high0 = chance_range(beliefs, 90.0, narrow)
    assert low[0, 0] < low0[0, 0]
    assert high[0, 0] > high0[0, 0]
    # Wider, not simply lower: the middle of the belief has not moved.
    middle = chance_range(beliefs, 90.0, PRIOR, width=1e-9)[0][0, 0]
    assert middle == pytest.approx(chance_range(beliefs, 90.0, narrow, width=1e-9)[0][0, 0])
