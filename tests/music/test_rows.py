from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.forms import BAR, aligned

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
