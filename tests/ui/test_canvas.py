"""The repertoire on a staff."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.text import ASCII, UNICODE, charset_here
from tunememory.ui.canvas import (
    Grid,
    Head,
    empty_staff,
    repertoire_staff,
    row_of,
    space_row,
    staff_height,
)

HEADS = st.lists(
    st.builds(
        Head,
        group=st.sampled_from(["A", "D", "G", "E", "B♭", "?"]),
        chance=st.floats(0, 1),
        role=st.sampled_from(["safe", "lost"]),
        asked=st.booleans(),
    ),
    max_size=400,
)


def text(rows: list[list[tuple[str, str]]]) -> list[str]:
    return ["".join(piece for piece, _ in row) for row in rows]


@given(HEADS, st.integers(18, 120), st.integers(0, 4), st.sampled_from([UNICODE, ASCII]))
def test_a_picture_is_as_wide_and_high_as_asked(heads, width, gap, charset) -> None:
    rows = text(repertoire_staff(heads, width, gap, charset).rows)
    assert len(rows) == staff_height(gap) + 1
    assert {len(row) for row in rows} == {width}


@given(HEADS, st.integers(18, 120), st.integers(0, 4))
def test_every_tune_is_in_the_picture(heads, width, gap) -> None:
    picture = repertoire_staff(heads, width, gap, ASCII)
    drawn = sum(row.count("@") + row.count("o") for row in text(picture.rows)[: staff_height(gap)])
    if picture.each == 1:
        assert drawn == len(heads)
    else:
        assert len(heads) / picture.each <= drawn < len(heads)


def test_the_spaces_are_the_states() -> None:
    # Lines at 1, 0.8, 0.5, 0.2 and 0: safe, fading, rusty, lost from the top.
    rows = [row_of(chance, 0) for chance in (0.95, 0.81, 0.6, 0.3, 0.1)]
    assert rows == [1, 1, 2, 3, 4]
    assert [space_row(space, 0) for space in range(4)] == [1, 2, 3, 4]
    assert [row_of(chance, 1) for chance in (1.0, 0.9, 0.8, 0.65, 0.5, 0.2, 0.0)] == [
        0, 1, 2, 3, 4, 6, 8,
    ]  # fmt: skip
    assert [space_row(space, 1) for space in range(4)] == [1, 3, 5, 7]


@given(st.floats(0, 1), st.floats(0, 1), st.integers(0, 4))
def test_a_better_chance_is_never_lower(one, other, gap) -> None:
    low, high = sorted((one, other))
    assert row_of(high, gap) <= row_of(low, gap)


def test_a_tune_keeps_its_place_while_it_slides() -> None:
    heads = [Head("A", 0.9, "safe"), Head("A", 0.9, "safe"), Head("D", 0.9, "safe")]
    before = text(repertoire_staff(heads, 30, 1, ASCII).rows)
    heads[1] = Head("A", 0.1, "lost")
    after = text(repertoire_staff(heads, 30, 1, ASCII).rows)
    column = before[1].index("@", before[1].index("@") + 1)
    assert after[8 - 1][column] == "@"
    assert after[1][column] == " "


def test_roots_stand_beneath_their_tunes_and_unknown_ones_last() -> None:
    heads = [Head("?", 0.5, "safe"), Head("G", 0.5, "safe"), Head("A", 0.5, "safe")]
    rows = text(repertoire_staff(heads, 24, 0).rows)
    assert rows[-1].split() == ["A", "G", "?"]


def test_not_asked_is_seen_without_colour() -> None:
    rows = text(repertoire_staff([Head("A", 0.9, "", asked=False)], 10, 0).rows)
    assert "○" in rows[1]


def test_a_small_staff() -> None:
    assert text(empty_staff(6, 1, [3], ASCII).rows()) == [
        "---+--",
        "   |  ",
        "---+--",
        "   |  ",
        "---+--",
        "   |  ",
        "---+--",
        "   |  ",
        "---+--",
    ]
    assert text(empty_staff(4, 0, [2], UNICODE).rows())[:2] == ["▁▁▁▁", "▁▁│▁"]


def test_nothing_is_written_outside_the_grid() -> None:
    grid = Grid(3, 1)
    grid.put(-1, 0, "x")
    grid.put(3, 0, "x")
    grid.put(0, 1, "x")
    grid.write(2, 0, "yz", "safe")
    assert grid.rows() == [[("  ", ""), ("y", "safe")]]


@pytest.mark.parametrize(
    ("encoding", "term", "charset"),
    [
        ("utf-8", "xterm-256color", UNICODE),
        ("UTF8", "tmux", UNICODE),
        ("iso-8859-1", "xterm", ASCII),
        ("utf-8", "linux", ASCII),
    ],
)
def test_signs_a_terminal_can_show(encoding, term, charset) -> None:
    assert charset_here(encoding, {"TERM": term}) is charset
