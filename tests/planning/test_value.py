from __future__ import annotations

import numpy as np

from tunememory.recall.gain import FAVOURITE_WEIGHT, LEARNING_WEIGHT, prompt_values

STRANDS = np.array([[0.2, np.nan, 0.1], [0.2, 0.3, 0.1], [0.2, 0.3, 0.1]])
HOW = np.array([[1, 0, 1]] * 3, dtype=bool)
WHAT = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 0]], dtype=bool)
NONE = np.zeros(3, dtype=bool)


def test_a_prompt_is_worth_what_its_strands_are_together() -> None:
    worth = prompt_values(STRANDS, HOW, WHAT, NONE, NONE)
    assert np.allclose(worth, [[0.3, 0.0], [0.3, 0.3], [0.3, 0.3]])


def test_favourites_tunes_in_learning_and_dates_weigh_more() -> None:
    second, third = np.array([0, 1, 0], bool), np.array([0, 0, 1], bool)
    dated = np.array([3.0, 1.0, 0.0])
    plain = prompt_values(STRANDS, HOW, WHAT, second, third)
    assert np.allclose(plain[:, 0], [0.3, 0.3 * FAVOURITE_WEIGHT, 0.3 * LEARNING_WEIGHT])
    with_dates = prompt_values(STRANDS, HOW, WHAT, second, third, dated)
    assert np.allclose(with_dates, plain * dated[:, None])
