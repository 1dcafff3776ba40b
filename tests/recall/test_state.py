"""Chances in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.recall.state import Rated, in_ten, rated_words


@pytest.mark.parametrize(
    ("chance", "words", "brief"),
    [
        (0.0, "under 1 in 10", "<1 in 10"),
        (0.05, "about 1 in 10", "~1 in 10"),
        (0.62, "about 6 in 10", "~6 in 10"),
        (0.949, "about 9 in 10", "~9 in 10"),
        (0.95, "over 9 in 10", ">9 in 10"),
        (1.0, "over 9 in 10", ">9 in 10"),
    ],
)
def test_chances_in_tenths(chance, words, brief):
    assert in_ten(chance) == words
    assert in_ten(chance, brief=True) == brief


@given(st.floats(0, 1))
def test_no_chance_is_ever_said_to_be_nothing_or_certain(chance):
    words = in_ten(chance)
    assert " 0 in" not in words
    assert "10 in" not in words
    assert len(words) <= 13


@pytest.mark.parametrize(
    ("chances", "words", "brief"),
    [
        ((0.3, 0.9, 0.6), "was about 3 in 10, tomorrow about 9, in a week about 6.",
         "was ~3/10, tomorrow ~9, in a week ~6."),
        ((0.02, 0.97, 0.97), "was under 1 in 10, tomorrow over 9, in a week over 9.",
         "was <1/10, tomorrow >9, in a week >9."),
        ((0.96, 0.98, 0.95), "over 9 in 10, as before.", ">9 in 10, as before."),
        ((0.96, 0.98, 0.9), "was over 9 in 10, tomorrow over 9, in a week about 9.",
         "was >9/10, tomorrow >9, in a week ~9."),
    ],
)  # fmt: skip
def test_what_a_check_did(chances, words, brief):
    assert rated_words(Rated(*chances)) == words
    assert rated_words(Rated(*chances), brief=True) == brief
