import dataclasses
import math

import numpy as np
import pytest

from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.forgetting import chance
from tunememory.recall.parameters import PRIOR


@pytest.mark.parametrize(
    ("declared", "days"),
    [(Declared.NEW, 1.5), (Declared.LEARNING, 5), (Declared.KNOWN, 30), (Declared.OLD_FRIEND, 180)],
)
def test_a_word_stands_for_a_stability(declared, days):
    belief = first_belief((0, 1, 2), declared, 100.0, PRIOR)
    assert belief.mean == pytest.approx(math.log(days) + np.array([0.0, 0.2, -0.3]))
    assert np.diag(belief.cov) == pytest.approx(1.44)


def test_strands_of_a_tune_hang_together_and_absent_ones_are_nothing():
    belief = first_belief((2, 4), Declared.KNOWN, 100.0, PRIOR)
    assert belief.present.tolist() == [False, False, True, False, True]
    assert belief.cov[2, 4] == pytest.approx(1.44 - 0.75**2)
    assert not belief.cov[3].any()
    assert np.isnan(belief.exposed_at[3])


def test_a_tune_said_to_be_known_stands_at_about_three_in_four_until_asked():
    for declared in (Declared.KNOWN, Declared.OLD_FRIEND, Declared.LEARNING):
        p = chance(stack([first_belief((0,), declared, 50.0, PRIOR)]), 50.0, PRIOR)[0, 0]
        assert 0.65 < p < 0.85


def test_strands_that_vary_more_than_the_word_still_give_a_covariance():
    wild = dataclasses.replace(PRIOR, strand_sd=2.0)
    belief = first_belief((0, 2, 3), Declared.NEW, 0.0, wild)
    assert np.linalg.eigvalsh(belief.cov[np.ix_([0, 2, 3], [0, 2, 3])]).min() > 0


def test_a_tune_without_strands():
    assert first_belief((), Declared.NEW, 0.0, PRIOR).columns == 0
