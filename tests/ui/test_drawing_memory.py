from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.ui.canvas import LABEL, curve_lines, curve_sentence, height_of, space_of, value_at

FALLING = ((0.0, 0.9, 0.85, 0.95), (10.0, 0.7, 0.5, 0.8), (60.0, 0.1, 0.05, 0.3))


def text(lines):
    return ["".join(piece for piece, _ in line) for line in lines]


@pytest.mark.parametrize(
    ("chance", "height", "space"),
    [(0.0, 0, "lost"), (0.2, 1, "rusty"), (0.5, 2, "fading"), (0.8, 3, "safe"), (1.0, 4, "safe"),
     (0.1, 0.5, "lost"), (0.35, 1.5, "rusty"), (0.65, 2.5, "fading"), (0.9, 3.5, "safe"),
     (-1.0, 0, "lost"), (2.0, 4, "safe")],
)  # fmt: skip
def test_lines_are_the_bounds_of_the_states(chance, height, space):
    assert height_of(chance) == pytest.approx(height)
    assert space_of(chance) == space


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_higher_chance_never_stands_lower(one, other):
    low, high = sorted((one, other))
    assert height_of(low) <= height_of(high)


def test_reading_a_curve_between_and_outside_its_points():
    assert value_at(FALLING, 5.0) == pytest.approx((5.0, 0.8, 0.675, 0.875))
    assert value_at(FALLING, -5.0)[1] == 0.9
    assert value_at(FALLING, 99.0)[1] == 0.1


@given(
    st.lists(st.floats(0, 1), min_size=2, max_size=30),
    st.integers(10, 200),
    st.integers(1, 4),
)
def test_every_row_is_as_wide_as_asked(chances, width, rows_a_space):
    curve = [(float(day), c, max(0.0, c - 0.1), min(1.0, c + 0.1)) for day, c in enumerate(chances)]
    lines = curve_lines(curve, width, rows_a_space)
    assert len(lines) == 4 * rows_a_space + 2
    assert {len(line) for line in text(lines)} == {max(width, LABEL + 8)}


def test_the_line_goes_from_space_to_space_without_a_gap():
    rows = text(curve_lines(FALLING, 60))
    for column in range(LABEL, 60):
        assert any("\u2801" <= row[column] <= "\u28ff" for row in rows[:-1]), column
    first = next(k for k, row in enumerate(rows) if "\u2801" <= row[LABEL] <= "\u28ff")
    last = max(k for k, row in enumerate(rows) if "\u2801" <= row[59] <= "\u28ff")
    assert first < 2
    assert last > 5


def test_the_range_is_shaded_about_the_line():
    rows = text(curve_lines(((0.0, 0.65, 0.55, 0.75), (60.0, 0.65, 0.55, 0.75)), 60, 3))
    assert sum("░" in row for row in rows) == 0 or all(
        abs(k - 4.5) < 3 for k, row in enumerate(rows) if "░" in row
    )
    wide = text(curve_lines(((0.0, 0.65, 0.3, 0.9), (60.0, 0.65, 0.3, 0.9)), 60, 3))
    assert sum("░" in row for row in wide) > 2


def test_days_stand_under_the_staff():
    assert text(curve_lines(FALLING, 60))[-1].split("  ")[-1].strip() == "in 2 months"
    assert "in a month" in text(curve_lines(FALLING, 60))[-1]
    assert text(curve_lines(FALLING, 24))[-1].split() == ["today", "in", "2", "months"]


def test_the_sentence_says_today_and_what_comes():
    assert curve_sentence(FALLING) == (
        "About 9 in 10 today; left alone it is fading in 6 days and rusty in a month."
    )
    level = ((0.0, 0.97, 0.9, 1.0), (60.0, 0.91, 0.8, 0.95))
    assert curve_sentence(level) == (
        "Over 9 in 10 today; still about 9 in 10 in 2 months, if it is left alone."
    )
    gone = ((0.0, 0.1, 0.0, 0.2), (60.0, 0.02, 0.0, 0.1))
    assert curve_sentence(gone).startswith("About 1 in 10 today; still under 1 in 10")
