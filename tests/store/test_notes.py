from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store import making
from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.strings import Tuning
from tunememory.store.tunes import (
    key_columns,
    read_key,
    read_length,
    read_notes,
    read_tuning,
    write_notes,
    write_tuning,
)


@given(st.lists(making.notes))
def test_notes_come_back_as_they_were(notes: list[Note]) -> None:
    assert read_notes(write_notes(notes)) == tuple(notes)


def test_notes_are_kept_as_readable_text() -> None:
    notes = (Note(Pitch(4, "D"), Fraction(1, 2)), Note(Pitch(5, "B", -2), Fraction(3)))
    assert write_notes(notes) == "D4:1/2 Bbb5:3"


def test_equal_notes_are_one_object() -> None:
    first, _, third = read_notes("D4:1 E4:1 D4:1")
    assert first is third


@pytest.mark.parametrize("text", ["H4:1", "D4", "D4:", "D:1", "D4:0", "D4:1/0", "D4:-1", "d4:1"])
def test_text_that_is_no_note_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a|without length"):
        read_notes(f"D4:1 {text}")


def test_a_note_that_could_not_be_read_back_is_not_written() -> None:
    with pytest.raises(ValueError, match="without length"):
        write_notes([Note(Pitch(4, "D"), Fraction(0))])
    with pytest.raises(ValueError, match="not a note"):
        write_notes([Note(Pitch(4, "D", 3), Fraction(1))])


@given(st.none() | making.keys)
def test_keys_come_back_as_they_were(key: Key | None) -> None:
    assert read_key(*key_columns(key)) == key


def test_a_key_with_changes_of_unknown_letters_is_not_written() -> None:
    with pytest.raises(ValueError, match="not a change"):
        key_columns(Key("D", "major", (("H", 1),)))


@given(st.none() | making.tunings)
def test_tunings_come_back_as_they_were(tuning: Tuning | None) -> None:
    assert read_tuning(write_tuning(tuning)) == tuning


@pytest.mark.parametrize("text", ["1/0", "half", ""])
def test_text_that_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a length|Invalid literal"):
        read_length(text)
