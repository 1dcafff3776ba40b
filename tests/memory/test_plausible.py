import numpy as np
import pytest

from tunememory.memory.fitting import PRIORS, from_working, to_working
from tunememory.memory.parameters import PRIOR
from tunememory.memory.plausible import plausible


def test_draws_are_as_wide_as_the_priors_or_as_the_fit():
    names = tuple(name for name in PRIORS if name != "gain_wane")
    wide = [to_working(p, names) for p in plausible(PRIOR, 4000, np.random.default_rng(1), names)]
    assert np.mean(wide, axis=0) == pytest.approx(to_working(PRIOR, names), abs=0.06)
    assert np.std(wide, axis=0) == pytest.approx([PRIORS[n].sd for n in names], rel=0.06)
    two = ("slope", "just_learned")
    cov = np.array([[0.01, 0.02], [0.02, 0.09]])
    own = from_working(np.array([0.3, 2.0]), two)
    fitted = plausible(own, 4000, np.random.default_rng(2), two, cov)
    assert np.cov([to_working(p, two) for p in fitted], rowvar=False) == pytest.approx(
        cov, abs=0.01
    )
    assert {p.gain for p in fitted} == {PRIOR.gain}


def test_growth_never_speeds_up_with_what_is_known():
    drawn = plausible(PRIOR, 200, np.random.default_rng(3))
    assert all(p.gain_wane >= 0 for p in drawn)


def test_the_same_luck_gives_the_same_players():
    once, again = (plausible(PRIOR, 3, np.random.default_rng(4)) for _ in range(2))
    assert once == again
