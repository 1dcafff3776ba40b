import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.forgetting import chance, felt_days, widening
from tunememory.recall.parameters import PRIOR
from tunememory.recall.update import CheckEvent, ExposureEvent, after, posterior

STILL = dataclasses.replace(
    PRIOR, gain=0.0, gain_floor=0.0, gain_failed=0.0, spill=0.0, gain_noise=0.0
)
"""Nothing is learned: what changes is the Bayes step alone."""


def known(columns=(0, 1, 2, 3), at=0.0):
    return first_belief(columns, Declared.KNOWN, at, PRIOR)


def check(level, at=10.0, columns=(2,), **more):
    return CheckEvent(at, int(at), tuple((c, level) for c in columns), **more)


def test_one_level_moves_its_strand_by_bayes_and_the_others_through_the_covariance():
    belief = known()
    now = after(belief, check(4), STILL)
    elapsed = np.array([20.0])  # "known" counts from ten days before it was entered
    _, mean, variance = posterior(
        belief.mean[2:3],
        np.array([belief.cov[2, 2]]),
        np.log(felt_days(elapsed, PRIOR)),
        np.array([3]),
        PRIOR,
    )
    assert now.mean[2] == pytest.approx(mean[0], abs=1e-12)
    assert now.cov[2, 2] == pytest.approx(variance[0], abs=1e-12)
    share = belief.cov[0, 2] / belief.cov[2, 2]
    assert now.mean[0] - belief.mean[0] == pytest.approx(share * (mean[0] - belief.mean[2]))
    assert now.cov[0, 3] - belief.cov[0, 3] == pytest.approx(
        share**2 * (variance[0] - belief.cov[2, 2])
    )


def test_several_levels_in_one_check_say_the_same_in_any_order():
    rated = CheckEvent(10.0, 10, ((0, 4), (2, 2), (3, 1)))
    turned = CheckEvent(10.0, 10, ((3, 1), (0, 4), (2, 2)))
    assert after(known(), rated, PRIOR).to_bytes() == after(known(), turned, PRIOR).to_bytes()


def test_every_strand_is_taken_in_before_any_learns():
    both = after(known(), check(4, columns=(0, 2)), PRIOR)
    still = after(known(), check(4, columns=(0, 2)), STILL)
    before = chance(stack([known()]), 10.0, PRIOR)[0]
    for column in (0, 2):
        grown = PRIOR.gain * (1 - before[column]) ** PRIOR.gain_power + PRIOR.gain_floor
        grown *= math.exp(-PRIOR.gain_wane * (known().mean[column] - PRIOR.just_learned))
        assert both.mean[column] - still.mean[column] == pytest.approx(grown)


def test_growth_by_level():
    before = chance(stack([known()]), 10.0, PRIOR)[0, 2]
    full = PRIOR.gain * (1 - before) ** PRIOR.gain_power + PRIOR.gain_floor
    full *= math.exp(-PRIOR.gain_wane * (known().mean[2] - PRIOR.just_learned))
    for level, grown in ((4, full), (3, 0.6 * full), (2, 0.15), (1, 0.15)):
        learned = after(known(), check(level), PRIOR)
        still = after(known(), check(level), STILL)
        assert learned.mean[2] - still.mean[2] == pytest.approx(grown)
        assert learned.mean[0] - still.mean[0] == pytest.approx(PRIOR.spill * grown)
        assert learned.cov[2, 2] - still.cov[2, 2] == pytest.approx(PRIOR.gain_noise)
        assert learned.cov[0, 0] == pytest.approx(still.cov[0, 0])


def test_a_failure_is_taken_in_but_seeing_the_answer_does_not_weaken():
    means = [after(known(), check(level), PRIOR).mean[2] for level in (1, 2, 3, 4)]
    assert means == sorted(means)
    assert means[0] < known().mean[2] < means[3]


def test_a_second_check_on_the_day_moves_little_and_a_third_adds_no_growth():
    first = after(known(), check(4, at=10.0), PRIOR)
    second = after(first, check(4, at=10.03, cold=False), PRIOR)
    third = after(second, check(4, at=10.06, cold=False), PRIOR)
    next_day = after(first, check(4, at=11.0), PRIOR)
    moved = first.mean[2] - known().mean[2]
    assert 0 < second.mean[2] - first.mean[2] < 0.35 * moved
    assert second.mean[2] - first.mean[2] < next_day.mean[2] - first.mean[2]
    still = after(second, check(4, at=10.06), STILL)
    assert third.mean[2] == still.mean[2]
    assert third.gains[2] == 2
    assert third.cov[2, 2] == still.cov[2, 2]


@pytest.mark.parametrize("declared", Declared)
@pytest.mark.parametrize("first", [1, 2, 3, 4])
@pytest.mark.parametrize("minutes", [10, 25, 60, 180])
def test_a_success_again_on_the_same_day_moves_little_and_never_down(declared, first, minutes):
    once = after(first_belief((0, 1, 2, 3), declared, 0.0, PRIOR), check(first), PRIOR)

    def in_a_week(belief):
        # Felt from the first check on, so that being met later is no part of the difference.
        return chance(stack([belief]), 17.0, PRIOR)[0, 2]

    for level in (3, 4):
        twice = after(once, check(level, at=10.0 + minutes / 1440), PRIOR)
        twice.exposed_at[2] = once.exposed_at[2]
        assert -1e-9 <= in_a_week(twice) - in_a_week(once) < 0.07


def test_again_on_the_same_day_it_counts_only_whether_it_came():
    once = after(known(), check(2), STILL)
    levels = [after(once, check(level, at=10.02), STILL).to_bytes() for level in (1, 2, 3, 4)]
    assert levels[0] == levels[1]
    assert levels[2] == levels[3]
    assert levels[1] != levels[2]
    next_day = {after(once, check(level, at=11.0), STILL).to_bytes() for level in (1, 2, 3, 4)}
    assert len(next_day) == 4
    played = after(known(), ExposureEvent(10.0, 10, (2,), 5.0), STILL)
    assert (
        after(played, check(3, at=10.02), STILL).to_bytes()
        == after(played, check(4, at=10.02), STILL).to_bytes()
    )


def test_a_hint_caps_the_level_at_two():
    assert (
        after(known(), check(4, hints=1), PRIOR).to_bytes()
        == after(known(), check(2, hints=0), PRIOR).to_bytes()
    )
    assert (
        after(known(), check(1, hints=3), PRIOR).to_bytes()
        == after(known(), check(1), PRIOR).to_bytes()
    )


def test_playing_without_a_level_is_exposure_and_no_evidence():
    played = after(known(), ExposureEvent(10.0, 10, (2, 3), 5.0), PRIOR)
    assert played.mean[2] - known().mean[2] == pytest.approx(PRIOR.same_day * PRIOR.gain_floor)
    assert played.exposed_at.tolist() == [-10.0, -10.0, 10.0, 10.0]
    assert not played.checks.any()
    brief = after(known(), ExposureEvent(10.0, 10, (2,), 0.5), PRIOR)
    assert brief.mean[2] - known().mean[2] == pytest.approx(0.5 * PRIOR.same_day * PRIOR.gain_floor)
    again = after(
        after(played, ExposureEvent(10.1, 10, (2,), 5.0), PRIOR),
        ExposureEvent(10.2, 10, (2,), 5.0),
        PRIOR,
    )
    assert again.mean[2] - played.mean[2] == pytest.approx(PRIOR.same_day * PRIOR.gain_floor)


def test_a_check_after_playing_on_the_day_grows_by_the_repeat_share():
    played = after(known(), ExposureEvent(10.0, 10, (2,), 5.0), PRIOR)
    checked = after(played, check(1, at=10.2), PRIOR)
    still = after(played, check(1, at=10.2), STILL)
    assert checked.mean[2] - still.mean[2] == pytest.approx(PRIOR.same_day * PRIOR.gain_failed)


def test_a_long_gap_is_added_as_variance_before_the_level_is_taken_in():
    late = check(1, at=140.0)
    got = after(known(), late, STILL)
    belief = known()
    belief.cov[2, 2] += widening(np.array([150.0]), PRIOR)[0]
    narrow = dataclasses.replace(STILL, gap_widening=0.0)
    assert got.to_bytes() == after(belief, late, narrow).to_bytes()


def test_a_clock_set_back_is_no_error_and_no_time():
    first = after(known(), check(4, at=10.0), PRIOR)
    back = after(first, check(4, at=3.0), PRIOR)
    assert np.isfinite(back.mean).all()
    assert back.exposed_at[2] == 10.0


def test_levels_of_strands_the_tune_has_not_are_passed_over():
    belief = known(columns=(0, 2))
    stray = CheckEvent(10.0, 10, ((1, 4), (7, 4)))
    assert after(belief, stray, PRIOR).to_bytes() == belief.to_bytes()


def test_the_belief_given_is_left_alone():
    belief = known()
    kept = belief.to_bytes()
    after(belief, check(4), PRIOR)
    assert belief.to_bytes() == kept


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.floats(0, 400),
            st.dictionaries(st.integers(0, 3), st.integers(1, 4), max_size=4),
            st.integers(0, 4),
        ),
        max_size=25,
    )
)
def test_whatever_comes_the_belief_stays_a_belief(history):
    belief = known()
    for wait, levels, hints in history:
        at = float(np.nanmax(belief.exposed_at)) + wait
        belief = after(belief, CheckEvent(at, int(at), tuple(levels.items()), hints), PRIOR)
    assert np.isfinite(belief.mean).all()
    assert np.allclose(belief.cov, belief.cov.T)
    assert np.linalg.eigvalsh(belief.cov).min() > 0
    assert math.isclose(belief.checks.sum(), sum(len(levels) for _, levels, _ in history))
