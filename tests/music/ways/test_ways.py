"""What each way brings for a known tune. Trade facts: common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.music.ways.conftest import a_start
from tunememory.music.fingering import fingering
from tunememory.music.key import MODES, Key
from tunememory.music.strings import STANDARD, parse_tuning
from tunememory.music.tune import Start, Status, Tune
from tunememory.music.ways.material import Subject
from tunememory.music.ways.neighbours import neighbours, same_root
from tunememory.music.ways.other_key import blue_notes, other_key, other_mode, string_over
from tunememory.music.ways.registry import material
from tunememory.music.ways.scale import moves, scale, scale_notes
from tunememory.music.ways.singing import listen, sing

G, D, A, E = range(4)
CROSS_A = parse_tuning("AEAE")


def words(text):
    return text.split()


def row(material, name, label=""):
    """Words of the first row so named, after the line that begins with ``label``."""
    lines = list(material.lines)
    first = next(i for i, line in enumerate(lines) if line.startswith(label))
    return next(line for line in lines[first:] if line.startswith(f"  {name} ")).split()[1:]


# --- scale ---


def test_scale_goes_from_root_below_to_root_above(subject):
    made = scale(subject("D2FA c2A2"))
    assert row(made, "letters") == words("D E F G A B c d")
    assert row(made, "fingers") == words("D0 D1 D2 D3 A0 A1 A2 A3")
    up_and_down = [note.pitch.midi for note in made.pieces[0].start.notes]
    assert up_and_down == up_and_down[::-1]
    assert made.pieces[0].start.notes[-1].quarters == 2


def test_scale_is_fingered_for_the_tuning(subject):
    made = scale(subject("A2ce a2e2", key=Key("A"), tuning=CROSS_A))
    assert row(made, "fingers")[:5] == words("A0 A1 A2 A3 E0")


def test_scale_turns_where_the_strings_end(subject):
    """A tune in E that goes down to B: no E lies below on a fiddle."""
    made = scale(subject("B,EGB e2B2", key=Key("E", "minor")))
    assert row(made, "letters")[0] == "B,"


def test_scale_without_notes_is_an_octave_from_the_lowest_root(subject):
    assert row(scale(subject()), "steps") == words("1 2 3 4 5 6 7 1'")


def test_scale_of_a_signature_with_changes(subject):
    """ABC 2.1, section 3.1.14: K:D Phr ^f has F sharp, B flat and E flat."""
    key = Key("D", "phrygian", (("F", 1),))
    pitches = scale_notes(key, STANDARD, [62, 74])
    assert [p.midi - 62 for p in pitches] == [0, 1, 4, 5, 7, 8, 10, 12]


@given(st.data())
def test_every_note_of_a_scale_is_in_the_signature_and_in_reach(draw, data):
    key, tuning = data.draw(draw.keys), data.draw(draw.tunings)
    sounding = data.draw(st.lists(st.integers(50, 86), max_size=8))
    pitches = scale_notes(key, tuning, sounding)
    midis = [pitch.midi for pitch in pitches]
    assert midis == sorted(set(midis))
    assert all(pitch.alter == key.alters()[pitch.letter] for pitch in pitches)
    assert all(min(tuning.strings) <= m <= max(tuning.strings) + 8 for m in midis)


# --- moves ---


def test_the_most_awkward_move_comes_first(subject):
    """E low 2 to A3 troubles learners most of all."""
    made = moves(subject("dBdg d2d2", key=Key("G")))
    assert made.lines[0].startswith("1. E low 2 to A3")
    first = made.pieces[0].start
    assert [n.pitch.midi for n in first.notes[:2]] == [79, 74]
    assert sum(n.quarters for n in first.notes) == 4


def test_moves_are_sought_in_the_whole_melody_where_it_is_known(subject):
    melody = a_start("D4 E4 g4 d4", Key("D")).notes
    assert not moves(subject("D4 E4")).possible
    made = moves(subject("D4 E4", melody=melody))
    told = " ".join(" ".join(made.lines).split())
    assert told.startswith("1. D1 to E low 2: skips a string (whole tune, note 3)")
    assert "2. E low 2 to A3: crosses to the string below" in told


def test_a_tune_without_awkward_moves_says_so(subject):
    made = moves(subject("D2E2 F2G2"))
    assert not made.possible
    assert "Nothing in it is awkward" in made.caution


# --- another key ---


def test_from_g_to_c_every_note_moves_one_string_lower_under_the_same_finger(subject):
    """G to C: common practice, no source."""
    one = subject("BdBG DGBd|g2fg d2B2", key=Key("G"))
    start = one.starts[0]
    over = string_over(start, STANDARD)
    home = fingering(start.notes, STANDARD).places
    assert over is not None
    assert over.semitones == -7
    assert list(over.places) == [p and replace(p, string=p.string - 1) for p in home]
    made = other_key(one)
    assert row(made, "letters", "In C: one string lower")[:4] == words("E G E C")
    assert row(made, "fingers", "In C: one string lower")[:4] == words("D1 D3 D1 G3")
    assert row(made, "fingers")[:4] == words("A1 A3 A1 D3")


def test_one_string_lower_comes_before_one_string_higher(subject):
    made = other_key(subject("D2FA d2A2"))
    assert row(made, "letters", "In G: one string lower")[:3] == words("G, B, D")
    assert "one string higher" not in " ".join(made.lines)


def test_what_lies_on_the_lowest_string_moves_up(subject):
    made = other_key(subject("G,A,B,C DEFG", key=Key("G")))
    assert row(made, "letters", "In D: one string higher")[:4] == words("D E F G")


def test_a_tone_up_sets_other_fingers(subject):
    """From G to A what was A1 is A2."""
    made = other_key(subject("B2d2", key=Key("G")))
    assert row(made, "fingers", "In A: a tone up") == words("A2 E0")


def test_in_a_cross_tuning_a_start_on_unequal_strings_has_no_key_a_string_over(subject):
    made = other_key(subject("A,2EA c2e2 a4", key=Key("A"), tuning=CROSS_A))
    assert "no key a string over" in made.caution


@given(st.data())
def test_a_string_over_is_always_the_same_melody(draw, data):
    start = data.draw(draw.starts())
    tuning = data.draw(draw.tunings)
    over = string_over(start, tuning)
    if over is not None:
        home = fingering(start.notes, tuning).places
        sounding = [tuning.strings[p.string] + p.semitones for p in over.places]
        assert sounding == [n.pitch.midi + over.semitones for n in start.notes]
        assert [p.semitones for p in over.places] == [p.semitones for p in home if p]
        assert {p.string - q.string for p, q in zip(over.places, home, strict=True) if q} in (
            {1}, {-1},
        )  # fmt: skip


# --- another mode ---


def test_a_major_start_in_minor_dorian_and_mixolydian(subject):
    made = other_mode(subject("DEFG ABcd"))
    notes = {piece.label: [n.pitch.midi - 62 for n in piece.start.notes] for piece in made.pieces}
    assert notes["In D minor"] == [0, 2, 3, 5, 7, 8, 10, 12]
    assert notes["In D dorian"] == [0, 2, 3, 5, 7, 9, 10, 12]
    assert notes["In D mixolydian"] == [0, 2, 4, 5, 7, 9, 10, 12]


@pytest.mark.parametrize("mode", MODES)
def test_the_parallel_of_minor_like_modes_is_major(subject, mode):
    made = other_mode(subject("E2G2 B2e2", key=Key("E", mode)))
    third = Key("E", mode).alters()["G"]
    assert made.pieces[0].label == ("In E major" if third == 0 else "In E minor")
    assert f"In E {mode}" not in [piece.label for piece in made.pieces]


def test_blue_notes_are_the_lowered_third_fifth_and_seventh(subject):
    one = subject("DEFG ABcd")
    blue = blue_notes(one.starts[0], Key("D"))
    assert [b.midi - 62 if b else None for b in blue] == [None, None, 3, None, 6, None, 10, None]
    assert row(other_mode(one), "blue", "Blue notes") == words("=F _A │ =c") or row(
        other_mode(one), "blue", "Blue notes"
    ) == words("=F _A =c")


def test_what_the_mode_has_low_is_not_lowered_again(subject):
    one = subject("D2F2 A2c2", key=Key("D", "minor"))
    assert [bool(b) for b in blue_notes(one.starts[0], Key("D", "minor"))] == [0, 0, 1, 0]


# --- sing, listen ---


def test_singing_begins_with_the_open_string_on_the_root(subject):
    made = sing(subject("D2FA d4"))
    assert made.lines[0] == "Sound the root: the open D string."
    assert row(made, "steps") == words("1 3 5 1'")
    low = sing(subject("A2ce a4", key=Key("A"), tuning=CROSS_A))
    assert low.lines[0] == "Sound the root: the open low A string."
    assert "root, B," in sing(subject("B2d2", key=Key("B", "minor"))).lines[0]


def test_listening_names_the_recording_noted_with_the_tune(subject):
    one = subject("D4")
    assert not listen(one).possible
    tune = replace(one.tune, note="slow\nRecording: reel 3, side b", source="the box player")
    made = listen(Subject(tune, STANDARD))
    assert made.lines[:2] == ("From: the box player", "Recording: reel 3, side b")


# --- neighbours ---


def another(uuid, key, kind="reel", **changes):
    start = Start("A", fixed_notes(), Fraction(0))
    tune = Tune(uuid, (f"Tune {uuid}",), kind=kind, key=Key(key), metre="C|", starts=(start,))
    return replace(tune, **changes)


def fixed_notes():
    return a_start("D4 F4", Key("D")).notes


def test_neighbours_have_the_root_and_the_tuning_and_same_kind_comes_first(subject):
    others = (
        another("jig", "D", "jig", metre="6/8"),
        another("in G", "G"),
        another("resting", "D", status=Status.RESTING),
        another("cross", "D", tuning=CROSS_A),
        another("reel", "D"),
        another("march", "D", "march"),
        another("fourth", "D", "jig", metre="6/8"),
    )
    one = subject("D4", others=others)
    one = Subject(replace(one.tune, kind="reel"), STANDARD, others=(*others, one.tune))
    assert [tune.uuid for tune in same_root(one)] == ["reel", "march", "jig"]
    made = neighbours(one)
    assert made.lines[0] == "Tune reel (reel, D)"
    assert made.pieces[0].label == "Tune reel (reel, D)"


def test_alone_on_its_root_a_tune_has_no_neighbours(subject):
    made = material("neighbours", subject("D4", others=(another("g", "G"),)))
    assert made.caution == "No other tune on D in this tuning."


@settings(max_examples=30)
@given(st.data())
def test_whatever_is_moved_or_changed_keeps_its_rhythm(draw, data):
    subject = data.draw(draw.subjects())
    for way in (other_key, other_mode):
        for piece in way(subject).pieces:
            assert [n.quarters for n in piece.start.notes] == [
                n.quarters for n in subject.starts[0].notes
            ]
            assert piece.start.pickup == subject.starts[0].pickup
