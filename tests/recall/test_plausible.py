import numpy as np
import pytest

from tunememory.recall.fitting import PRIORS, from_working, plausible, to_working
from tunememory.recall.parameters import PRIOR


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
