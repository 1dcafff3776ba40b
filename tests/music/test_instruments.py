"""Ranges and frets. Common practice, no source, where nothing else is said."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes
from tunememory.music.fingering import FIDDLE, INSTRUMENTS, fingering, on_strings, reach_words
from tunememory.music.key import Key
from tunememory.music.pitch import LETTERS, Note, Pitch
from tunememory.music.spelling import abc_letter
from tunememory.music.strings import STANDARD, Tuning, parse_tuning

D = Key("D")


def notes(text, key=D):
    return parse_notes(text, key, "C|").notes


def told(text, instrument, tuning=None):
    made = notes(text)
    one = INSTRUMENTS[instrument]
    names = [abc_letter(note.pitch, D) for note in made]
    return reach_words(made, names, tuning or one.tuning, one)


@pytest.mark.parametrize("instrument", ["flute", "whistle"])
@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("FA,DF", "note 2 (A,). An octave up all of it fits."),
        ("A,B,DF A", "notes 1 and 2 (A,, B,). An octave up all of it fits."),
        ("A,B,DF Adfb", "notes 1 and 2 (A,, B,). Play them an octave up."),
        ("A,DFb", "note 1 (A,). Play it an octave up."),
        ("A,B,A,B,A, b", "5 of 6 notes. Play them an octave up."),
    ],
)
def test_what_is_too_low_for_flute_and_whistle(instrument, text, wanted):
    assert told(text, instrument) == f"Too low for the {instrument}: {wanted}"


@pytest.mark.parametrize("instrument", ["flute", "whistle"])
def test_from_low_d_to_high_b_all_is_in_reach(instrument):
    assert told("D2FA dfab", instrument) == ""
    assert told("", instrument) == ""
    assert told("C", instrument) != ""
    assert told("c'", instrument) != ""


def test_what_is_too_high():
    assert told("abc'd'", "whistle") == (
        "Too high for the whistle: notes 3 and 4 (c', d'). An octave down all of it fits."
    )
    assert told("Dabc'", "flute") == "Too high for the flute: note 4 (c'). Play it an octave down."


def test_both_too_low_and_too_high():
    assert told("A,d'", "flute") == (
        "Too low for the flute: note 1 (A,). Too high for the flute: note 2 (d'). "
        "Play the low an octave up. Play the high an octave down."
    )


def test_on_a_fiddle_what_the_hand_at_the_nut_does_not_reach_is_said():
    """First position goes to the fourth finger stretched, C above the staff's ledger A."""
    assert told("=c'", "fiddle") == ""
    assert told("ae'd'a", "fiddle") == "Beyond first position: notes 2 and 3 (e', d')."
    # Between two strings that lie far apart.
    assert told("Cda", "fiddle", Tuning((60, 84))) == "Beyond first position: notes 2 and 3 (d, a)."
    # What is too low is doubted where it is typed.
    assert told("F,", "fiddle") == ""


def test_banjos_and_mandolin_have_twelve_frets():
    assert told("G,e'", "mandolin") == ""
    assert told("f'", "mandolin").startswith("Too high for the mandolin: note 1 (f').")
    assert told("G,e'", "tenor banjo") == ""
    # Sounding an octave lower, its lowest string is the D below the staff, its highest fret a D.
    assert told("Dd'", "five-string banjo") == ""
    assert told("Ce'", "five-string banjo").startswith("Too low for the five-string banjo")


def on(text, instrument, tuning=None):
    one = INSTRUMENTS[instrument]
    return on_strings(notes(text), tuning or one.tuning, "", one)


def test_frets_are_semitones_above_the_open_string():
    """The mandolin has the fiddle's strings, and a fret each semitone."""
    assert on("G,A,DE FGAB defg", "mandolin").names == (
        "G0", "G2", "D0", "D2", "D4", "D5", "A0", "A2", "A5", "E0", "E2", "E3",
    )  # fmt: skip
    assert on("ad'", "mandolin").names == ("E5", "E10")
    assert on("g'", "mandolin").names == ("–",)


def test_the_short_string_of_a_banjo_is_not_stopped():
    """gDGBD, an octave below what is written."""
    assert on("DGBd f", "five-string banjo").names == ("D,0", "G0", "B0", "D0", "D4")


def test_no_strings_no_fingers():
    assert on("DFA", "flute") is None


@given(st.lists(st.integers(26, 42), min_size=1, max_size=16))
def test_on_a_fiddle_it_is_the_easiest_fingering(steps):
    made = tuple(Note(Pitch(step // 7, LETTERS[step % 7]), Fraction(1)) for step in steps)
    seen = on_strings(made, STANDARD, "", FIDDLE)
    assert seen.places == fingering(made, STANDARD).places


@given(
    st.lists(st.integers(26, 42), min_size=1, max_size=16),
    st.sampled_from(sorted(INSTRUMENTS)),
    st.sampled_from(["GDAE", "AEAE"]),
)
def test_places_sound_what_is_written(steps, name, tuning):
    made = tuple(Note(Pitch(step // 7, LETTERS[step % 7]), Fraction(1)) for step in steps)
    one = INSTRUMENTS[name]
    strings = one.tuning if one.drones else parse_tuning(tuning)
    seen = on_strings(made, strings, "", one)
    if seen is None:
        return
    for note, place, mark in zip(made, seen.places, seen.marks, strict=True):
        if place is None:
            assert mark == "–"
        else:
            sounds = seen.strings.strings[place.string] + place.semitones
            assert sounds == note.pitch.midi - one.sounds_below
