from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.library.starts import StartView
from tunememory.music.tune import Start
from tunememory.ui.library.drawing import FORMS, start_lines


def view(letters, steps=(), fingers=(), bars=()):
    return StartView("A", Start("A"), tuple(letters), tuple(steps), tuple(fingers), tuple(bars))


def test_rows_are_aligned_note_by_note_with_bar_lines():
    start = view(("e", "d", "c'", "^f"), ("5", "4", "1'", "#6"), ("E0", "A3", "EL2", "E1"), (1, 3))
    assert start_lines(start, 60, FORMS) == [
        ("letters", "e  │ d  c'  │ ^f"),
        ("steps", "5  │ 4  1'  │ #6"),
        ("fingers", "E0 │ A3 EL2 │ E1"),
    ]


def test_a_start_on_the_beat_has_no_bar_line_in_front():
    assert start_lines(view("de", bars=(0,)), 60, ("letters",)) == [("letters", "d e")]


def test_no_notes_no_lines():
    assert start_lines(view(()), 60, FORMS) == []


def test_a_long_start_breaks_at_a_bar_line():
    start = view("abcdefga", bars=(4,))
    assert start_lines(start, 14, ("letters",)) == [
        ("letters", "a b c d"),
        ("letters", "│ e f g a"),
    ]


@given(
    st.lists(st.sampled_from(["a", "b'", "^c", "EL2", "c,,"]), min_size=1, max_size=40),
    st.integers(8, 80),
    st.sets(st.integers(0, 40)),
)
def test_no_note_is_lost_and_no_line_too_long(letters, width, bars):
    lines = start_lines(view(letters, bars=tuple(sorted(bars))), width, ("letters",))
    shown = " ".join(line for _, line in lines).replace("│", " ").split()
    assert shown == letters
    assert all(len(line) <= width for _, line in lines)


@pytest.mark.parametrize("width", [0, 1, 3])
def test_an_impossible_width_still_ends(width):
    assert len(start_lines(view(("EL2", "c,,")), width, ("letters",))) == 2
