from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.forecast.how_well import ChanceStep
from tunememory.forecast.year import YearAhead, YearPoint
from tunememory.text import ASCII, UNICODE
from tunememory.ui.canvas import LABEL, bar_row, row_of
from tunememory.ui.forecast import (
    GAP,
    average_curve,
    how_well_lines,
    staff_lines,
    table_lines,
    year_lines,
)
from tunememory.ui.text import width_of


def text(lines):
    return ["".join(piece for piece, _ in line) for line in lines]


def step(tenth, said, came, low=None, high=None, checks=50.0):
    low = came if low is None else low
    high = came if high is None else high
    return ChanceStep(tenth / 10, 9, checks, said, came, low, high)


def test_said_and_came_stand_in_their_column_at_their_height():
    picture = text(staff_lines([step(3, 0.35, 0.65, 0.3, 0.9)], 3))[1:]
    x = LABEL + 3 * 3 + 1
    assert picture[row_of(0.65, GAP)][x] == UNICODE.head
    assert picture[row_of(0.35, GAP)][x] == UNICODE.ghost
    between = {picture[y][x] for y in range(row_of(0.9, GAP), row_of(0.3, GAP) + 1)}
    assert between == {UNICODE.head, UNICODE.ghost, UNICODE.bar}
    assert sum(line.count(UNICODE.head) for line in picture) == 1


def test_what_is_right_covers_what_was_said():
    picture = "".join(text(staff_lines([step(6, 0.65, 0.65)], 2))[1:])
    assert UNICODE.head in picture
    assert UNICODE.ghost not in picture


def test_few_checks_are_hollow_in_the_picture_and_grey_in_the_table():
    few = [step(6, 0.65, 0.65, checks=29)]
    assert UNICODE.hollow in "".join(text(staff_lines(few, 2)))
    assert table_lines(few)[1][0][1] == "quiet"
    assert table_lines([step(6, 0.65, 0.65, checks=30)])[1][0][1] == ""


def test_the_table_holds_every_number_high_chances_first():
    rows = text(table_lines([step(1, 0.12, 0.2, 0.1, 0.35), step(9, 0.96, 1, 0.9, 1, 1204.0)]))
    words = [word for word in rows[1].split(" ") if word]
    assert words == ["96", "100", "90–100", "1\N{NO-BREAK SPACE}204"]
    assert rows[2].split() == ["12", "20", "10–35", "50"]
    assert text(table_lines([step(1, 0.12, 0.2, checks=0.4)]))[1].split()[-1] == "<1"


@given(
    st.lists(
        st.tuples(st.integers(0, 9), *[st.floats(0, 1)] * 3, st.floats(0.3, 99_999)),
        unique_by=lambda row: row[0],
        max_size=10,
    ),
    st.integers(30, 130),
)
def test_it_fits_whatever_came(seen, width):
    steps = [
        step(tenth, tenth / 10 + 0.1 * part, came, came * less, came + (1 - came) * less, checks)
        for tenth, part, came, less, checks in sorted(seen)
    ]
    lines = how_well_lines(steps, width)
    assert all(sum(width_of(piece) for piece, _ in line) <= width for line in lines)
    assert len(table_lines(steps)) == len(seen) + 1


def test_plain_signs_for_plain_terminals():
    lines = text(staff_lines([step(3, 0.35, 0.65, 0.3, 0.9)], 3, ASCII))
    assert all(line.isascii() for line in lines)


@given(st.floats(-1, 2), st.integers(1, 200))
def test_the_bar_is_as_wide_as_there_is_room(share, width):
    row = bar_row(share, width)
    assert width_of("".join(piece for piece, _ in row)) == min(60, width)


@pytest.mark.parametrize(("share", "filled"), [(0.0, 0), (0.5, 10), (1.0, 20)])
def test_the_bar_fills(share, filled):
    assert len(bar_row(share, 21)[0][0]) == filled


def test_the_year_is_drawn_as_the_average_tune():
    points = tuple(YearPoint(day, 40, 10.0, 20.0, 30.0, 5.0) for day in (0, 182, 364))
    year = YearAhead(4.0, 16.0, 1.0, 0.0, points, 2.0, points[-1], None, 16)
    assert average_curve(year)[1] == (182.0, 0.5, 0.25, 0.75)
    shown = text(year_lines(year, 56, 1))
    assert "in 12 months" in shown[5]
    assert "Of 40 tunes about 20" in " ".join(shown)
