import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.key import MODES, Key
from tunememory.music.pitch import LETTERS, SEMITONES, Pitch


@pytest.mark.parametrize(
    ("pitch", "midi", "step"),
    [
        (Pitch(4, "C"), 60, 28),
        (Pitch(4, "A"), 69, 33),
        (Pitch(3, "G"), 55, 25),
        (Pitch(5, "E"), 76, 37),
        (Pitch(4, "B", 1), 72, 34),
        (Pitch(4, "C", -1), 59, 28),
        (Pitch(5, "F", 2), 79, 38),
        (Pitch(-1, "C"), 0, -7),
    ],
)
def test_midi_numbers_and_staff_places(pitch, midi, step):
    """MIDI 1.0: note 60 is middle C."""
    assert (pitch.midi, pitch.step) == (midi, step)


@given(st.integers(0, 9), st.sampled_from(LETTERS))
def test_letters_rise_with_pitch(octave, letter):
    higher = Pitch(octave, letter)
    for lower in LETTERS[: LETTERS.index(letter)]:
        assert Pitch(octave, lower).midi < higher.midi
        assert Pitch(octave, lower).step < higher.step


def test_the_natural_letters_are_the_c_major_scale():
    assert [SEMITONES[letter] for letter in LETTERS] == [0, 2, 4, 5, 7, 9, 11]


@pytest.mark.parametrize(
    ("key", "root_class", "fifths", "short", "name"),
    [
        (Key("D"), 2, 2, "D", "D major"),
        (Key("E", "minor"), 4, 1, "Em", "E minor"),
        (Key("A", "mixolydian"), 9, 2, "Amix", "A mixolydian"),
        (Key("Bb", "dorian"), 10, -4, "Bbdor", "Bb dorian"),
        (Key("F#", "locrian"), 6, 1, "F#loc", "F# locrian"),
        (Key("Cb"), 11, -7, "Cb", "Cb major"),
        (Key("D", "phrygian", (("F", 1),)), 2, -2, "Dphr", "D phrygian"),
    ],
)
def test_keys(key, root_class, fifths, short, name):
    """Signatures: ABC 2.1, table of section 3.1.14."""
    assert (key.root_class, key.fifths, key.short, key.name) == (root_class, fifths, short, name)


@given(st.sampled_from("CDEFGAB"), st.sampled_from(["", "#", "b"]), st.sampled_from(MODES))
def test_the_signature_has_as_many_signs_as_fifths(letter, sign, mode):
    key = Key(letter + sign, mode)
    assert sum(key.alters().values()) == key.fifths
    # Seven different sounds, the root among them.
    sounds = {Pitch(4, name, alter).midi % 12 for name, alter in key.alters().items()}
    assert len(sounds) == 7
    assert key.root_class in sounds


def test_changes_override_the_signature():
    key = Key("D", "phrygian", (("F", 1),))
    assert key.alters() == {"C": 0, "D": 0, "E": -1, "F": 1, "G": 0, "A": 0, "B": -1}
