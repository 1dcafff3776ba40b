import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tunememory.recall.update import exp, log


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
