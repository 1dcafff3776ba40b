"""The Bayes step against SciPy's quadrature and hand-checked vectors."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, special, stats

from tunememory.recall.parameters import PRIOR
from tunememory.recall.update import CAME, EXACT, FAILED, FAST, exp, log, posterior, success

VECTOR_PARAMETERS = dataclasses.replace(PRIOR, slope=1.0, join_in=-1.1, kick_off=1.4, lapse=0.02)
VECTORS = [
    (0, 0.423098, 0.752172, 1.134585),
    (1, 0.206162, 1.438436, 0.915764),
    (2, 0.205695, 1.872337, 0.962282),
    (3, 0.165045, 2.341000, 1.233052),
]
"""Own computation, done independently of this code: m = ln 4, v = 1.44, t = 8 days."""


def exact(mean, variance, t, y, params):
    def at_least(k, x):
        if k in {0, 4}:
            return 1.0 - k / 4
        cut = (params.join_in, 0.0, params.kick_off)[k - 1]
        p = special.expit(params.slope * (x - math.log(t)) - cut)
        return params.lapse / 2 + (1 - params.lapse) * p

    def moment(power):
        sd = math.sqrt(variance)
        return integrate.quad(
            lambda x: (
                x**power * (at_least(y, x) - at_least(y + 1, x)) * stats.norm.pdf(x, mean, sd)
            ),
            mean - 12 * sd,
            mean + 12 * sd,
            limit=400,
        )[0]

    total = moment(0)
    centre = moment(1) / total
    return total, centre, moment(2) / total - centre**2


@pytest.mark.parametrize(("y", "z", "mean", "variance"), VECTORS)
def test_posterior_vectors(y, z, mean, variance):
    got = posterior(
        np.array([math.log(4)]),
        np.array([1.44]),
        np.array([math.log(8)]),
        np.array([y]),
        VECTOR_PARAMETERS,
    )
    assert [float(part[0]) for part in got] == pytest.approx([z, mean, variance], abs=1e-6)


def test_predictive_vector():
    got = success(
        np.array([math.log(4)]), np.array([1.44]), np.array([math.log(8)]), VECTOR_PARAMETERS
    )
    assert float(got[0]) == pytest.approx(0.370740, abs=1e-6)


@pytest.mark.parametrize("mean", [-1.0, 1.5, 5.0])
@pytest.mark.parametrize("variance", [0.05, 1.44, 4.0])
@pytest.mark.parametrize("t", [0.01, 3.0, 200.0])
def test_posterior_against_adaptive_quadrature(mean, variance, t):
    y = np.arange(4)
    four = np.ones(4)
    got = np.array(posterior(mean * four, variance * four, math.log(t) * four, y, PRIOR)).T
    for outcome in range(4):
        wanted = exact(mean, variance, t, outcome, PRIOR)
        if wanted[0] < 1e-4:
            continue  # an outcome nobody sees; the quadrature only has to stay finite there
        assert got[outcome] == pytest.approx(wanted, abs=0.01)
    assert got[:, 0].sum() == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(("outcome", "levels"), [(FAILED, (0, 1)), (CAME, (2, 3))])
@pytest.mark.parametrize("rule", [EXACT, FAST])
def test_what_is_known_of_an_outcome_in_part_is_the_sum_of_what_it_may_have_been(
    outcome, levels, rule
):
    args = (np.array([math.log(4.0)]), np.array([1.44]), np.array([math.log(0.2)]))
    said, mean, variance = posterior(*args, np.array([outcome]), PRIOR, rule)
    parts = [posterior(*args, np.array([level]), PRIOR, rule) for level in levels]
    assert said == pytest.approx(sum(part[0] for part in parts), abs=1e-9)
    assert said * mean == pytest.approx(sum(part[0] * part[1] for part in parts), abs=1e-9)
    assert said * (variance + mean**2) == pytest.approx(
        sum(part[0] * (part[2] + part[1] ** 2) for part in parts), abs=1e-9
    )


def test_the_unheard_of_stays_finite():
    for mean in (-200.0, 200.0):
        for y in range(4):
            parts = posterior(
                np.array([mean]), np.array([0.1]), np.array([0.0]), np.array([y]), PRIOR
            )
            assert all(np.isfinite(part).all() for part in parts)
            assert parts[2][0] > 0


def test_the_fast_rule_comes_near():
    rng = np.random.default_rng(6)
    mean, variance = rng.normal(2, 2, 400), rng.uniform(0.05, 3.0, 400)
    log_time, y = rng.normal(2, 1.5, 400), rng.integers(0, 4, 400)
    exact, fast = (posterior(mean, variance, log_time, y, PRIOR, rule) for rule in (EXACT, FAST))
    for ours, near, within in zip(exact, fast, (1e-4, 5e-3, 1e-2), strict=True):
        assert near == pytest.approx(ours, abs=within)
    given = (mean, variance, log_time, PRIOR)
    assert success(*given, FAST) == pytest.approx(success(*given, EXACT), abs=1e-4)
    # Odds beyond all reason are certainties, by either rule and without a warning.
    for rule in (EXACT, FAST):
        far = np.array([-900.0, 900.0])
        sure = success(far, np.ones(2), np.zeros(2), PRIOR, rule)
        assert sure == pytest.approx([PRIOR.lapse / 2, 1 - PRIOR.lapse / 2], abs=1e-9)


@given(st.floats(-229, 229))
def test_exp_agrees_with_the_library_to_two_units(x):
    got = float(exp(np.array([x]))[0])
    assert abs(got - math.exp(x)) <= 2 * math.ulp(math.exp(x))


@given(st.floats(1e-300, 1e300))
def test_log_agrees_with_the_library_to_two_units(x):
    got = float(log(np.array([x]))[0])
    assert abs(got - math.log(x)) <= 2 * math.ulp(math.log(x))


def test_a_value_does_not_depend_on_its_neighbours_or_the_shape():
    x = np.random.default_rng(5).uniform(-30, 30, (37, 11))
    alone = np.array([[float(exp(np.array([v]))[0]) for v in row] for row in x])
    assert np.array_equal(exp(x), alone)
    assert np.array_equal(exp(np.asfortranarray(x)), alone)
    y = np.exp(x)
    alone = np.array([[float(log(np.array([v]))[0]) for v in row] for row in y])
    assert np.array_equal(log(y), alone)


def test_beyond_certainty_exp_stops():
    assert exp(np.array([1e9]))[0] == exp(np.array([230.0]))[0]
    assert exp(np.array([-1e9]))[0] > 0
