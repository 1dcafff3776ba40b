from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.tune import Start, Tune
from tunememory.recall.check import (
    NAMED,
    Prompt,
    column_of,
    facts_of,
    join_to,
    prompt_strands,
    strand_of,
    strand_words,
    strands_of,
)
from tunememory.recall.parameters import PRIOR


def test_starts_have_their_columns_after_all_other_strands():
    starts = {"A": 0, "B": 1, "C": 2, "Z": 25, "AA": 26, "AB": 27}
    assert [column_of(strand) for strand in NAMED] == list(range(len(NAMED)))
    assert {strand: column_of(strand) - len(NAMED) for strand in starts} == starts


def test_the_first_strands_keep_their_columns_whatever_is_added():
    assert NAMED[:2] == ("key", "name")


def test_what_is_asked_of_a_tune_in_its_order():
    """The one test that lists all strands: whoever adds one adds it here."""
    starts = (Start("A", (Note(Pitch(4, "D"), Fraction(1)),)), Start("B"))
    tune = Tune("1", ("The Reel",), key=Key("D", "major"), metre="C|", starts=starts)
    assert facts_of(tune) == {"key": "D major"}
    assert strands_of(tune) == ("key", "A", "B", "name")
    assert prompt_strands(tune, Prompt.HOW) == ("key", "A", "B")
    assert prompt_strands(tune, Prompt.WHAT) == ("name",)
    assert strands_of(replace(tune, key=None, metre="", starts=())) == ("A",)
    assert strands_of(replace(tune, titles=())) == ()


@pytest.mark.parametrize("strand", NAMED)
def test_a_strand_that_is_no_start_is_told_by_its_first_letter_and_has_a_mean(strand):
    assert [one[0] for one in NAMED].count(strand[0]) == 1
    assert strand_words(strand) == strand
    assert getattr(PRIOR, strand) is not None


@given(st.integers(0, 2000))
def test_strand_and_column_are_inverse(column):
    assert column_of(strand_of(column)) == column


@pytest.mark.parametrize("strand", ["", "a", "A1", "Key", "É"])
def test_no_column_for_what_is_no_strand(strand):
    with pytest.raises(ValueError, match="strand"):
        column_of(strand)


def test_no_strand_before_the_first_column():
    with pytest.raises(ValueError, match="column"):
        strand_of(-1)


def test_names_of_strands():
    assert [strand_words(s) for s in ("key", "A", "AA", "name", join_to("x"), "")] == [
        "key", "A start", "AA start", "name", "join", "",
    ]  # fmt: skip
