from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes, write_notes
from tunememory.music.forms import (
    BAR,
    aligned,
    bar_starts,
    barred,
    fingers_of,
    first_notes,
    letters_of,
    steps_of,
)
from tunememory.music.key import Key
from tunememory.music.strings import STANDARD, parse_tuning
from tunememory.music.tune import Start, Tune

D = Key("D")


def of(text, key=D, metre="6/8"):
    return parse_notes(text, key, metre)


def test_letters_steps_and_fingers_stand_note_by_note():
    notes = of("A|d2f a2f|g2=c D").notes
    assert letters_of(notes, D) == ("A", "d", "f", "a", "f", "g", "=c", "D")
    assert steps_of(notes, D) == ("5", "1'", "3'", "5'", "3'", "4'", "b7", "1")
    assert fingers_of(notes, STANDARD) == ("A0", "A3", "E1", "E3", "E1", "EL2", "AL2", "D0")


def test_letters_name_each_accidental_whatever_stood_before_in_the_bar():
    assert letters_of(of("^c c =c c", Key("C"), "C").notes, Key("C")) == ("^c", "^c", "c", "c")


def test_no_steps_without_a_key():
    assert steps_of(of("A").notes, None) == ()


def test_fingers_of_a_cross_tuning_tell_its_two_strings_of_a_letter_apart():
    notes = of("A,EAe", Key("A"), "C").notes
    assert fingers_of(notes, parse_tuning("AEAE")) == ("A,0", "E,0", "A0", "E0")


def test_a_note_out_of_reach_has_a_dash():
    assert fingers_of(of("G,,Ad'''").notes, STANDARD) == ("–", "A0", "–")


def test_bars_start_where_the_metre_puts_them():
    parsed = of("A|d2f a2f|g3 e3|d")
    assert bar_starts(parsed.notes, parsed.pickup, "6/8") == (1, 5, 7)
    parsed = of("d2f a2f|g3")
    assert bar_starts(parsed.notes, parsed.pickup, "6/8") == (4,)


def test_a_note_held_over_the_bar_line_starts_no_bar():
    assert bar_starts(of("d3 f3-|f3 a3|d").notes, Fraction(0), "6/8") == (3,)


def test_a_stroke_stands_before_each_note_that_begins_a_bar():
    assert barred(("A", "d", "f", "a"), (1, 3)) == "A | d f | a"
    assert barred(("d", "f"), (0,)) == "d f"
    assert barred((), ()) == ""


def test_first_notes_have_their_pickup_and_bar_lines():
    key = Key("G")
    b, c = of("D|GBGd GBGB|A", key, "C|"), of("f2f")
    starts = (Start("A"), Start("B", b.notes, b.pickup), Start("C", c.notes, key=D))
    tune = Tune("1", ("One",), key=key, metre="C|", starts=starts)
    assert first_notes(tune) == first_notes(tune, "B") == "D | G B G d G B G"
    # In the part's own key.
    assert first_notes(tune, "C") == "f f"
    assert first_notes(tune, "A") == first_notes(tune, "D") == ""


@pytest.mark.parametrize(
    ("written", "metre"),
    [
        ("g|fed", "6/8"),
        ("[M:9/8]g|fed", "9/8"),
        ("[K:Em] [M:C|] g|fed", "C|"),
        ("[L:1/16][M:2/4]g|fed", "2/4"),
        ("g|[M:9/8]fed", "6/8"),
        ("", "6/8"),
    ],
)
def test_a_part_may_name_a_metre_of_its_own(written, metre):
    assert Start("B", written=written).metre_in("6/8") == metre


def test_free_metre_has_no_bars():
    assert bar_starts(of("d3 f3 f3 a3").notes, Fraction(0), "none") == ()
    assert bar_starts((), Fraction(0), "6/8") == ()


@given(st.data())
def test_bar_starts_are_the_bar_lines_of_the_written_start(draw, data):
    """Against our ABC writer, counted from the bar lines in its text."""
    notes = data.draw(draw.notes)
    pickup = data.draw(st.sampled_from([Fraction(0), Fraction(1, 2), Fraction(1)]))
    starts = bar_starts(notes, pickup, "C|")
    text = write_notes(notes, pickup=pickup, metre="C|", key=None, unit=Fraction(1, 8))
    held = 0
    counted = []
    before = 0
    for segment in text.removesuffix("|").split("|"):
        if before and not held:
            counted.append(before)
        sounds = parse_notes(segment.rstrip().rstrip("-"), None, "C|").notes
        before += len(sounds) - held
        held = segment.rstrip().endswith("-")
    assert starts == tuple(counted)


words = st.lists(st.sampled_from(["d", "^c'", "AL1", "–", "b7,"]), min_size=1, max_size=30)


def test_rows_stand_note_under_note():
    assert aligned({"letters": ("d", "^f", "a"), "fingers": ("A3", "E1", "E3")}, {1}, 40) == [
        ("letters", "d  │ ^f a"),
        ("fingers", "A3 │ E1 E3"),
    ]


def test_what_is_too_long_goes_on_at_a_bar_line():
    letters = tuple("abcdefgh")
    lines = aligned({"letters": letters}, {4}, 12)
    assert [line for _, line in lines] == ["a b c d", "│ e f g h"]


def test_an_empty_row_is_left_out():
    assert aligned({"letters": ("a",), "steps": ()}, (), 10) == [("letters", "a")]
    assert aligned({"letters": ()}, (), 10) == []


@given(words, st.sets(st.integers(1, 29)), st.integers(1, 60))
def test_every_note_is_shown_once_and_in_order(notes, bars, width):
    lines = aligned({"one": notes, "two": notes}, bars, width)
    one = [line for name, line in lines if name == "one"]
    assert [line for name, line in lines if name == "two"] == one
    assert " ".join(one).replace(BAR.strip(), " ").split() == notes
    longest = max(len(note) for note in notes) + len(BAR)
    assert all(len(line) <= max(width, longest) for line in one)
