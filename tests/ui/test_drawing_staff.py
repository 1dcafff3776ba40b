"""A start on the staff with its letters and fingers beneath."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tunememory.library.starts import start_view
from tunememory.music.abc.notes import parse_notes
from tunememory.music.fingering import FIDDLE, INSTRUMENTS
from tunememory.music.key import Key
from tunememory.music.strings import STANDARD
from tunememory.music.tune import Start, Tune
from tunememory.ui.library.drawing import STAFF, picture, staff_lines

G = Key("G")
TEXT = "Bd|gfgd BGBd|gfga bgdB"


def drawn(text, width, instrument=FIDDLE):
    parsed = parse_notes(text, G, "C|")
    view = start_view(Start("A", parsed.notes, parsed.pickup, text), G, "C|", STANDARD, instrument)
    return view, ["".join(text for text, _ in line) for line in staff_lines(view, G, "C|", width)]


@pytest.mark.parametrize("width", [46, 56, 78])
def test_on_every_staff_letters_and_fingers_stand_under_their_notes(width):
    view, rows = drawn(TEXT, width)
    assert all(len(row.rstrip()) <= width for row in rows)
    fingers = [
        place
        for place, row in enumerate(rows)
        if not {"●", "─", "│"} & set(row) and any(sign.isdigit() for sign in row)
    ]
    assert (len(fingers) > 1) == (width < 78)
    letters = " ".join(rows[place - 1] for place in fingers).split()
    assert letters == list(view.letters)
    assert " ".join(rows[place] for place in fingers).split() == list(view.fingers)
    above = 0
    for place in fingers:
        staff = rows[above : place - 1]
        above = place + 1
        for column, sign in enumerate(rows[place - 1]):
            if sign.isalpha():
                assert any(row[column : column + 1] == "●" for row in staff)


def test_without_strings_only_letters_stand_under_the_staff():
    view, rows = drawn(TEXT, 78, INSTRUMENTS["flute"])
    assert rows[-1].split() == list(view.letters)


def test_a_part_in_another_metre_is_drawn_in_it():
    text = "[M:9/8]g|fed cBA Bcd|efg"
    parsed = parse_notes(text, G, "6/8")
    start = Start("B", parsed.notes, parsed.pickup, text)
    view = start_view(start, G, "6/8", STANDARD, FIDDLE)
    tune = Tune("1", ("One",), key=G, metre="6/8", starts=(start,))
    rows = ["".join(text for text, _ in line) for line in picture(view, tune, STAFF, 78)]
    assert "─9─" in rows[4]
    foot = next(row for row in rows if "┴" in row)
    letters = next(row for row in rows if row.split()[:1] == ["g"])
    bars = [place for place, sign in enumerate(foot) if sign == "┴"]
    # The pickup before the first, nine eighths between it and the second.
    assert [len(letters[a:b].split()) for a, b in pairwise([0, *bars[:2]])] == [1, 9]


def test_no_notes_no_staff():
    assert drawn("", 60)[1] == []
