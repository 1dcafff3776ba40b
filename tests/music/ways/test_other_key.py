import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes
from tunememory.music.forms import letters_of, steps_of
from tunememory.music.key import MODES, Key
from tunememory.music.pitch import SEMITONES
from tunememory.music.ways.other_key import in_mode, shift, transposed


def letters(text, key, semitones):
    move = shift(key, semitones)
    moved = transposed(parse_notes(text, key, "C|").notes, move)
    return move.key.short, " ".join(letters_of(moved, move.key))


@pytest.mark.parametrize(
    ("text", "key", "semitones", "wanted"),
    [
        ("G A B ^c d", Key("G"), -7, ("C", "C D E ^F G")),
        ("d f a g", Key("D"), 2, ("E", "e g b a")),
        ("A B c d =f", Key("A", "minor"), 1, ("Bbm", "B c d e g")),
        ("E F G", Key("E", "minor"), -1, ("Ebm", "E F G")),
        ("A c e", Key("A", "dorian"), 12, ("Ador", "a c' e'")),
    ],
)
def test_notes_keep_their_letters_in_the_new_key(text, key, semitones, wanted):
    assert letters(text, key, semitones) == wanted


def test_a_change_of_the_signature_moves_too():
    """ABC 2.1, section 3.1.14: K:D Phr ^f; a tone up it is K:E Phr ^g."""
    assert shift(Key("D", "phrygian", (("F", 1),)), 2).key == Key("E", "phrygian", (("G", 1),))


@given(st.data(), st.integers(-14, 14))
def test_moving_keeps_every_interval_and_step(draw, data, semitones):
    key = data.draw(draw.keys)
    notes = data.draw(draw.notes)
    move = shift(key, semitones)
    moved = transposed(notes, move)
    assert [n.pitch.midi for n in moved] == [n.pitch.midi + semitones for n in notes]
    assert [n.quarters for n in moved] == [n.quarters for n in notes]
    assert (move.key.root_class - key.root_class - semitones) % 12 == 0
    assert abs(move.key.fifths) <= 7


@given(st.data(), st.integers(-14, 14))
def test_notes_of_the_key_stay_on_their_steps(draw, data, semitones):
    key = data.draw(draw.keys)
    inside = [(SEMITONES[letter] + alter) % 12 for letter, alter in key.alters().items()]
    midis = [m for m in range(55, 80) if m % 12 in inside]
    notes = draw.plain(midis, key)
    move = shift(key, semitones)
    plain = [step.strip("',") for step in steps_of(notes, key)]
    assert [s.strip("',") for s in steps_of(transposed(notes, move), move.key)] == plain


def test_minor_of_the_same_root_lowers_third_sixth_and_seventh():
    scale = parse_notes("D E F G A B c d", Key("D"), "C|").notes
    minor = in_mode(scale, Key("D"), "minor")
    assert [b.pitch.midi - a.pitch.midi for a, b in zip(scale, minor, strict=True)] == [
        0, 0, -1, 0, 0, -1, -1, 0,
    ]  # fmt: skip


def test_an_accidental_stays_as_far_from_its_step():
    """A raised seventh in D mixolydian is a raised seventh in D dorian."""
    key = Key("D", "mixolydian")
    notes = parse_notes("^c d ^G", key, "C|").notes
    assert [n.pitch.midi for n in in_mode(notes, key, "dorian")] == [n.pitch.midi for n in notes]


@given(st.data(), st.sampled_from(MODES))
def test_there_and_back_is_where_it_was(draw, data, mode):
    key = data.draw(draw.keys.filter(lambda k: abs(Key(k.root, mode).fifths) <= 7))
    inside = {(SEMITONES[letter] + alter) % 12 for letter, alter in key.alters().items()}
    notes = draw.plain([m for m in range(55, 80) if m % 12 in inside], key)
    there = in_mode(notes, key, mode)
    assert in_mode(there, Key(key.root, mode), key.mode) == notes
