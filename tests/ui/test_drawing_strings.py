"""A start on its strings."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.library.starts import start_view
from tunememory.music.abc.notes import parse_notes
from tunememory.music.fingering import INSTRUMENTS
from tunememory.music.key import Key
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.strings import STANDARD, parse_tuning
from tunememory.music.tune import Start
from tunememory.ui.library.drawing import strings_lines


def start(text, key="G", metre="C|"):
    parsed = parse_notes(text, Key(key), metre)
    return Start("A", parsed.notes, parsed.pickup, text)


def view(text, tuning=STANDARD, instrument="fiddle", key="G", metre="C|"):
    made = start(text, key, metre)
    return start_view(made, Key(key), metre, tuning, INSTRUMENTS[instrument])


def drawn(seen, width=76):
    return ["".join(text for text, _ in line) for line in strings_lines(seen, width)]


def test_fingers_stand_on_the_lines_of_their_strings_in_the_order_of_time():
    assert drawn(view("GE|D2EG ABcA")) == [
        "E ─────┬────────────────",
        "A ─────┼───────0─1─L2─0─",
        "D ─3─1─┼─0─1─3──────────",
        "G ─────┴────────────────",
        "   G E   D E G A B c  A",
    ]


def test_strings_are_those_of_the_tuning():
    rows = drawn(view("A2 c2", parse_tuning("AEAC#"), key="A"))
    assert [row[:2].strip() for row in rows[:-1]] == ["C#", "A", "E", "A,"]


def test_a_mandolin_has_frets():
    rows = drawn(view("d f b", instrument="mandolin", key="D"))
    assert [row.split("─")[0].strip() for row in rows[:4]] == ["E", "A", "D", "G"]
    assert "5" in rows[1]
    assert "2" in rows[0]
    assert "7" in rows[0]


def test_what_is_out_of_reach_stands_in_brackets():
    rows = drawn(view("g e' g"))
    assert "(e')" in rows[-2]
    assert rows[-1] == "In brackets: out of reach of the hand."


def test_nothing_to_draw():
    assert drawn(view("")) == []
    assert drawn(view("d f a", instrument="whistle")) == []


NOTES = st.lists(st.integers(31, 41), min_size=1, max_size=40)


@given(NOTES, st.integers(24, 78), st.sampled_from(["GDAE", "AEAE", "GDGD", "DDAD"]))
def test_every_note_is_on_one_string_above_its_letter(steps, width, tuning):
    notes = tuple(Note(Pitch(step // 7, LETTERS[step % 7]), Fraction(1)) for step in steps)
    seen = start_view(Start("A", notes), Key("C"), "C|", parse_tuning(tuning))
    rows = [row for row in drawn(seen, width) if row and not row.startswith("In brackets")]
    assert all(len(row) <= width for row in rows)
    found = []
    for first in range(0, len(rows), 5):
        *strings, letters = rows[first : first + 5]
        for place, sign in enumerate(letters):
            if sign == " " or (place and letters[place - 1] != " "):
                continue
            marks = [row[place] for row in strings if place < len(row) and row[place] not in "─┬┼┴"]
            assert len(marks) == (0 if sign == "(" else 1)
            found.append(sign)
    assert len(found) == len(notes)


@pytest.mark.parametrize("text", ["GE|D2EG ABcA|d4 d4"])
def test_bar_lines_run_through_all_strings(text):
    rows = drawn(view(text))[:4]
    columns = [{place for place, sign in enumerate(row) if sign in "┬┼┴"} for row in rows]
    assert len(columns[0]) == 2
    assert all(one == other for one, other in pairwise(columns))
