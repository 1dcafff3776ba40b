from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.library.overview import FadingRow
from tunememory.music.key import Key
from tunememory.music.tune import Tune
from tunememory.recall.state import Chance, State
from tunememory.text import ASCII
from tunememory.ui.forecast import HORIZONS, staves_lines


def rows(chances, state=State.SAFE):
    return [
        FadingRow(Tune(str(n), (f"Tune {n}",), key=Key("D")), "A", Chance(c, c, c, state))
        for n, c in enumerate(chances)
    ]


def text(lines):
    return ["".join(piece for piece, _ in line) for line in lines]


def test_a_tune_keeps_its_column_and_sinks():
    ahead = [rows([0.9]), rows([0.6]), rows([0.1])]
    lines = text(staves_lines(ahead, 0, 76, 1))
    places = [(k, x) for k, line in enumerate(lines) for x, sign in enumerate(line) if sign == "●"]
    assert [y for y, _ in sorted(places, key=lambda p: p[1])] == [2, 4, 8]
    width = places[1][1] - places[0][1]
    assert places[2][1] - places[1][1] == width


def test_tunes_not_asked_yet_are_hollow():
    ahead = [rows([0.9], State.NOT_ASKED)] * 3
    assert "○" in "".join(text(staves_lines(ahead, 0, 76, 1)))
    assert "●" not in "".join(text(staves_lines(ahead, 0, 76, 1)))


@given(
    st.lists(st.floats(0, 1), min_size=1, max_size=300),
    st.integers(56, 130),
    st.integers(0, 3),
    st.integers(0, 2),
)
def test_one_head_for_each_tune_or_a_note_that_says_how_many(chances, width, gap, chosen):
    ahead = [rows(sorted(chances))] * len(HORIZONS)
    lines = text(staves_lines(ahead, chosen, width, gap))
    assert all(len(line) <= width for line in lines)
    heads = sum(line.count("●") for line in lines)
    said = [line for line in lines if "one note is" in line]
    if said:
        each = int(said[0].split()[3])
        assert heads == 3 * -(-len(chances) // each)
    else:
        assert heads == 3 * len(chances)


def test_the_chosen_day_is_marked_without_colour():
    for chosen, (_, name) in enumerate(HORIZONS):
        assert f"▸ {name}" in text(staves_lines([rows([0.5])] * 3, chosen, 76, 1))[0]


@pytest.mark.parametrize("gap", [0, 1, 2])
def test_plain_signs_for_plain_terminals(gap):
    lines = text(staves_lines([rows([0.5, 0.9])] * 3, 0, 76, gap, ASCII))[1:]
    assert all(line.isascii() for line in lines)
