from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.music.ways.conftest import a_start
from tunememory.music.abc.notes import write_notes
from tunememory.music.key import Key
from tunememory.music.metre import bar_quarters
from tunememory.music.pitch import Note
from tunememory.music.ways.other_metre import other_metre, recast

SIMPLE = ("C|", "C", "4/4", "2/2", "2/4")
COMPOUND = ("6/8", "12/8")


def written(text, metre):
    return {
        one.label: write_notes(
            one.start.notes, pickup=one.start.pickup, metre=one.metre, key=Key("D")
        )
        for one in recast(a_start(text, Key("D"), metre), metre)
    }


def test_a_reel_as_a_jig():
    assert written("dc|dAFA B2AF|", "C|") == {
        "long and short": "d2c|d2A F2A|B3 A2F|",
        "three in a group": "dc|dFA BAF|",
    }


def test_a_jig_as_a_reel():
    assert written("A|AFG A2f|a3 def|", "6/8") == {
        "long and short": "A|A/F/G Af|a2 d/e/f|",
        "three in a group": "A|A2FG A3f|a4 d2ef|",
    }


def test_a_note_held_over_the_middle_of_the_bar_stays_one_note():
    three = recast(a_start("d3 e2 f3|", Key("D"), "C|"), "C|")[1]
    assert [n.pitch.letter for n in three.start.notes] == ["D", "E", "F"]
    assert sum(n.quarters for n in three.start.notes) == 3


def test_a_reel_printed_in_sixteenths_is_the_same_jig():
    """Ryan's collection prints reels in 2/4 with sixteenths, O'Neill's in C| with eighths."""
    big = recast(a_start("dc|dAFA B2AF|", Key("D"), "C|"), "C|")
    small = recast(a_start("[L:1/16]dc|dAFA B2AF|", Key("D"), "2/4"), "2/4")
    assert [one.start.notes for one in small] == [one.start.notes for one in big]


@pytest.mark.parametrize("metre", ["9/8", "3/4", "5/4", "6/4", "", "none"])
def test_other_metres_have_no_such_step(subject, metre):
    made = other_metre(subject("D4 E4", metre=metre))
    assert not made.possible
    assert made.heading == "Reel to jig and back"
    assert "from 4/4, 2/2 or 2/4 to 6/8" in made.caution


@given(st.data(), st.sampled_from(SIMPLE + COMPOUND))
def test_lengths_add_up_to_whole_bars(draw, data, metre):
    start = data.draw(draw.starts())
    bar = bar_quarters(metre)
    assert bar is not None
    # Hold the last note so that the start ends with a bar, as starts of tunes do.
    total = sum((n.quarters for n in start.notes), -start.pickup)
    full = ended(start, -total % (2 * bar))
    for one in recast(full, metre):
        length = sum((n.quarters for n in one.start.notes), -one.start.pickup)
        whole = bar_quarters(one.metre)
        assert whole is not None
        assert length % whole == 0
        assert all(n.quarters > 0 for n in one.start.notes)
        assert one.start.pickup >= 0


def ended(start, longer):
    last = start.notes[-1]
    return replace(start, notes=(*start.notes[:-1], Note(last.pitch, last.quarters + longer)))


@given(st.data(), st.sampled_from(["C|", "6/8", "12/8"]))
def test_long_and_short_keeps_every_note_and_leads_back(draw, data, metre):
    start = data.draw(draw.starts())
    total = sum((n.quarters for n in start.notes), -start.pickup)
    start = ended(start, -total % 12)
    there = recast(start, metre)[0]
    assert [n.pitch for n in there.start.notes] == [n.pitch for n in start.notes]
    back = recast(there.start, "C|" if metre != "C|" else there.metre)[0]
    assert back.start.notes == start.notes
    assert back.start.pickup == start.pickup


@given(st.data())
def test_three_in_a_group_has_no_more_than_three_to_a_beat(draw, data):
    start = data.draw(draw.starts())
    three = recast(start, "C|")[1]
    assert all(n.quarters >= Fraction(1, 2) for n in three.start.notes)
    assert all(n.quarters % Fraction(1, 2) == 0 for n in three.start.notes)
