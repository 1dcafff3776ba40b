import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.recall.check import column_of, join_to, strand_of, strand_words


def test_the_first_columns_are_fixed_for_ever():
    wanted = {"key": 0, "name": 1, "A": 2, "B": 3, "C": 4, "Z": 27, "AA": 28, "AB": 29}
    assert {strand: column_of(strand) for strand in wanted} == wanted


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
