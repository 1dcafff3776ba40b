"""Metres and bars. Section numbers are those of the ABC 2.1 standard (December 2011)."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.metre import cut_bars, default_unit, group_quarters, is_compound, whole_notes
from tunememory.music.pitch import Note, Pitch

A = Pitch(4, "A")


def lengths(notes: list[str], pickup: str, metre: str) -> list[list[str]]:
    some = [Note(A, Fraction(length)) for length in notes]
    return [
        [
            f"{'-' if piece.held else ''}{piece.quarters}{'-' if piece.tied else ''}"
            for piece in bar.pieces
        ]
        for bar in cut_bars(some, Fraction(pickup), metre)
    ]


def test_a_note_over_a_bar_line_is_tied():
    assert lengths(["1", "5/2", "1"], "1/2", "3/4") == [["1/2-"], ["-1/2", "5/2"], ["1"]]
    assert lengths(["7"], "0", "3/4") == [["3-"], ["-3-"], ["-1"]]


def test_free_metre_is_one_open_bar():
    (bar,) = cut_bars([Note(A, Fraction(9))], Fraction(0), "")
    assert not bar.closed
    assert bar.pieces[0].whole


def test_a_pickup_of_a_bar_or_more_is_none():
    assert lengths(["1", "1"], "2", "2/4") == [["1", "1"]]


@given(
    st.lists(st.fractions(Fraction(1, 8), 9, max_denominator=12), max_size=20),
    st.fractions(0, 4, max_denominator=8),
    st.sampled_from(["4/4", "6/8", "3/4", "none"]),
)
def test_nothing_is_lost_and_full_bars_are_full(some, pickup, metre):
    notes = [Note(A, length) for length in some]
    bars = cut_bars(notes, pickup, metre)
    pieces = [piece for bar in bars for piece in bar.pieces]
    assert sum(piece.quarters for piece in pieces) == sum(some)
    assert sum(not piece.held for piece in pieces) == len(notes)
    full = {"4/4": 4, "6/8": 3, "3/4": 3}.get(metre)
    for bar in bars[1:]:
        if bar.closed:
            assert sum(piece.quarters for piece in bar.pieces) == full
    assert all(bar.closed for bar in bars[:-1])


def test_metres_3_1_6():
    assert whole_notes("C") == whole_notes("C|") == whole_notes("4/4") == 1
    assert whole_notes("2/2") == 1
    assert whole_notes("(2+3+2)/8") == whole_notes("2+3+2/8") == Fraction(7, 8)
    for free in ("none", "", "6", "reel", "0/8", "6/0", "1/2/3", "1/999", "999/1"):
        assert whole_notes(free) is None
    assert is_compound("6/8")
    assert is_compound("9/8")
    assert is_compound("12/8")
    assert not is_compound("3/4")
    assert group_quarters("6/8") == Fraction(3, 2)
    assert group_quarters("C|") == 2
    assert group_quarters("2/4") == group_quarters("3/4") == group_quarters("") == 1


def test_default_unit_length_3_1_7():
    assert default_unit("2/4") == Fraction(1, 16)
    for metre in ("3/4", "6/8", "C", "C|", "none", "", "4/4"):
        assert default_unit(metre) == Fraction(1, 8)
