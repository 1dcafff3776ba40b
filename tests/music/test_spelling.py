import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.key import Key
from tunememory.music.pitch import Pitch
from tunememory.music.spelling import abc_letter, pitch_of_step, spell, step_of


@given(st.data())
def test_a_step_gives_its_pitch_back_in_every_key_and_mode(draw, data):
    key, pitch = data.draw(draw.keys), data.draw(draw.pitches)
    step = step_of(pitch, key)
    number = next(place for place, sign in enumerate(step) if sign.isdigit())
    octave = step.count("'") - step.count(",")
    assert pitch_of_step(step[:number], int(step[number]), octave, key) == pitch


@given(st.data())
def test_spelling_keeps_the_sound(draw, data):
    key = data.draw(st.one_of(st.none(), draw.keys))
    midi = data.draw(st.integers(0, 127))
    pitch = spell(midi, key)
    assert pitch.midi == midi
    assert -2 <= pitch.alter <= 2


@given(st.data())
def test_a_note_of_the_key_is_spelled_without_a_sign(draw, data):
    key, midi = data.draw(draw.keys), data.draw(st.integers(36, 96))
    in_key = {Pitch(4, letter, alter).midi % 12 for letter, alter in key.alters().items()}
    assert (midi % 12 in in_key) == (abc_letter(spell(midi, key), key)[0] not in "^_=")


@pytest.mark.parametrize(
    ("midi", "key", "letter"),
    [
        (60, None, "C"),
        (61, None, "^C"),
        (70, None, "_B"),
        (66, Key("D"), "F"),
        (65, Key("D"), "=F"),
        (68, Key("D"), "^G"),
        (73, Key("G"), "^c"),
        (65, Key("G"), "=F"),
        (70, Key("G"), "^A"),
        (70, Key("F"), "B"),
        (73, Key("D", "minor"), "^c"),
        (84, Key("C"), "c'"),
        (55, Key("G"), "G,"),
        (47, Key("G"), "B,,"),
    ],
)
def test_spelled_letters(midi, key, letter):
    assert abc_letter(spell(midi, key), key) == letter


@pytest.mark.parametrize(
    ("key", "midis", "steps"),
    [
        # Seven steps of each mode on one root, against the major scale: any theory book.
        (Key("D"), (62, 64, 66, 67, 69, 71, 73, 74), "1 2 3 4 5 6 7 1'"),
        (Key("D", "mixolydian"), (62, 64, 66, 67, 69, 71, 72, 74), "1 2 3 4 5 6 b7 1'"),
        (Key("D", "dorian"), (62, 64, 65, 67, 69, 71, 72, 74), "1 2 b3 4 5 6 b7 1'"),
        (Key("D", "minor"), (62, 64, 65, 67, 69, 70, 72, 74), "1 2 b3 4 5 b6 b7 1'"),
        (Key("D", "phrygian"), (62, 63, 65, 67, 69, 70, 72, 74), "1 b2 b3 4 5 b6 b7 1'"),
        (Key("D", "lydian"), (62, 64, 66, 68, 69, 71, 73, 74), "1 2 3 #4 5 6 7 1'"),
        (Key("D", "locrian"), (62, 63, 65, 67, 68, 70, 72, 74), "1 b2 b3 4 b5 b6 b7 1'"),
        # The step that the mode alters, unaltered.
        (Key("A", "mixolydian"), (68,), "=7,"),
        (Key("E", "minor"), (68,), "=3"),
        (Key("F", "lydian"), (70,), "=4"),
        # Step 1 is the capital letter of ABC, C4 to B4.
        (Key("B", "minor"), (71, 66, 59), "1 5, 1,"),
        (Key("C"), (60, 67, 72), "1 5 1'"),
    ],
)
def test_steps_of_the_modes(key, midis, steps):
    assert " ".join(step_of(spell(midi, key), key) for midi in midis) == steps


def test_a_step_that_cannot_be_written_has_no_pitch():
    assert pitch_of_step("##", 3, 0, Key("C#")) is None
    assert pitch_of_step("", 1, 9, Key("C")) is None
