"""What the prompts of a tune are worth."""

from __future__ import annotations

import numpy as np

from tunememory.rounds.candidates import FAVOURITE_WEIGHT, LEARNING_WEIGHT, by_prompt, weights_of

STRANDS = np.array([[0.2, np.nan, 0.1], [0.2, 0.3, 0.1], [0.2, 0.3, 0.1]])
HOW = np.array([[1, 0, 1]] * 3, dtype=bool)
WHAT = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 0]], dtype=bool)


def test_a_prompt_is_worth_what_its_strands_are_together() -> None:
    assert np.allclose(by_prompt(STRANDS, HOW, WHAT), [[0.3, 0.0], [0.3, 0.3], [0.3, 0.3]])


def test_favourites_tunes_in_learning_and_dates_weigh_more() -> None:
    second, third = np.array([0, 1, 0], bool), np.array([0, 0, 1], bool)
    plain = [1.0, FAVOURITE_WEIGHT, LEARNING_WEIGHT]
    assert np.allclose(weights_of(second, third, None), plain)
    dated = np.array([3.0, 1.0, 0.0])
    assert np.allclose(weights_of(second, third, dated), plain * dated)
