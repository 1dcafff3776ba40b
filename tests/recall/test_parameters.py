import dataclasses

import numpy as np
import pytest

from tunememory.recall.parameters import (
    PRIOR,
    PRIORS,
    Parameters,
    from_working,
    plausible,
    to_working,
)


def test_stored_and_read_back_equal():
    own = dataclasses.replace(PRIOR, slope=1.2345678901234567, gain=0.1)
    assert Parameters.from_dict(own.as_dict()) == own


def test_missing_names_take_the_prior_and_strange_ones_are_passed_over():
    assert Parameters.from_dict({"slope": 0.8, "what is this": 4.0}) == dataclasses.replace(
        PRIOR, slope=0.8
    )


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_value_that_is_no_number_is_refused_by_name(bad):
    with pytest.raises(ValueError, match="slope"):
        Parameters.from_dict({"slope": bad})


def test_draws_are_as_wide_as_the_priors_or_as_the_fit():
    wide = [to_working(p) for p in plausible(PRIOR, 4000, np.random.default_rng(1))]
    assert np.mean(wide, axis=0) == pytest.approx(to_working(PRIOR), abs=0.06)
    assert np.std(wide, axis=0) == pytest.approx([one.sd for one in PRIORS.values()], rel=0.06)
    two = ("slope", "just_learned")
    cov = np.array([[0.01, 0.02], [0.02, 0.09]])
    own = from_working(np.array([0.3, 2.0]), two)
    fitted = plausible(own, 4000, np.random.default_rng(2), two, cov)
    assert np.cov([to_working(p, two) for p in fitted], rowvar=False) == pytest.approx(
        cov, abs=0.01
    )
    assert {p.gain for p in fitted} == {PRIOR.gain}


def test_no_draw_turns_the_levels_upside_down_or_speeds_growth_up():
    for one in plausible(PRIOR, 500, np.random.default_rng(3)):
        assert one.join_in < 0 < one.kick_off
        assert one.gain_wane > 0


def test_the_same_luck_gives_the_same_players():
    once, again = (plausible(PRIOR, 3, np.random.default_rng(4)) for _ in range(2))
    assert once == again
