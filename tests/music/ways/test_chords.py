"""Chords, shapes, drones and double stops. Trade facts: common practice, no source."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.music.ways.conftest import METRES, a_start
from tunememory.music.fingering import drone_strings, fingering
from tunememory.music.key import MODES, Key
from tunememory.music.pitch import SEMITONES
from tunememory.music.strings import STANDARD, Place, midi_at, parse_tuning
from tunememory.music.ways.chords import (
    MANDOLIN,
    Chord,
    between,
    chord_on,
    chords,
    chords_of,
    easiest,
    harmony,
    shape_of,
    sounding,
    strummed,
)
from tunememory.music.ways.two_strings import CONSONANT, double_stops, drone_with, drones, stops_for

G, D, A, E = range(4)


def names(text, key, metre="C|"):
    return [span.chord.name for span in harmony(a_start(text, key, metre), key, metre)]


@pytest.mark.parametrize(
    ("key", "wanted"),
    [
        ("D major", "D G A"),
        ("A mixolydian", "A G D"),
        ("E dorian", "Em D A"),
        ("A minor", "Am G F Dm"),
        ("G lydian", "G A D"),
        ("Bb major", "Bb Eb F"),
    ],
)
def test_chords_of_a_mode(key, wanted):
    root, mode = key.split()
    assert [chord.name for chord in chords_of(Key(root, mode))] == wanted.split()


@pytest.mark.parametrize("mode", MODES)
def test_every_chord_is_made_of_the_notes_of_its_mode(mode):
    for root in ("D", "Bb", "F#"):
        key = Key(root, mode)
        inside = {(SEMITONES[letter] + alter) % 12 for letter, alter in key.alters().items()}
        assert chords_of(key)
        assert chords_of(key)[0].classes[0] == key.root_class
        for degree in range(1, 8):
            chord = chord_on(key, degree)
            assert chord is not None
            assert set(chord.classes) <= inside


def test_each_half_bar_has_the_chord_that_holds_its_notes():
    assert names("d2fa g2bg|e2ce d4|", Key("D")) == ["D", "G", "A", "D"]
    assert names("A2AB cAAA|", Key("A", "mixolydian")) == ["A", "A"]
    assert names("G2B d2B|A3 G3|", Key("G"), "6/8") == ["G", "G", "D", "G"]


def test_in_three_a_chord_lasts_a_bar():
    assert names("d2 f2 a2|g2 b2 d'2|", Key("D"), "3/4") == ["D", "G"]


def test_between_equals_the_chord_before_stays():
    assert names("A4 A4|", Key("D")) == ["D", "D"]
    assert names("c2e2 A4|", Key("D")) == ["A", "A"]


def test_the_note_on_the_beat_counts_half_as_much_again():
    assert names("e2gb e2gb|", Key("D")) == ["A", "A"]
    assert names("gbe2 gbe2|", Key("D")) == ["G", "G"]


def test_the_pickup_has_no_chord():
    start = a_start("ed|c2A2 A4|", Key("A"), "C|")
    spans = harmony(start, Key("A"), "C|")
    assert [(span.begin, span.end) for span in spans] == [(0, 2), (2, 4)]


@given(st.data(), st.sampled_from(METRES))
def test_chords_lie_end_to_end_from_the_first_bar_line(draw, data, metre):
    start = data.draw(draw.starts())
    spans = harmony(start, start.key, metre)
    total = sum((n.quarters for n in start.notes), -start.pickup)
    if not metre:
        assert spans == ()
        return
    assert spans[0].begin == 0
    assert spans[-1].end == total
    assert all(a.end == b.begin for a, b in pairwise(spans))
    assert {span.chord for span in spans} <= set(chords_of(start.key))


# --- shapes ---

THIRDS = {"": (0, 4, 7), "m": (0, 3, 7)}


@pytest.mark.parametrize("name", MANDOLIN)
def test_every_usual_shape_sounds_its_chord(name):
    root, minor = name.rstrip("m"), "m" if name.endswith("m") else ""
    classes = {(Key(root).root_class + third) % 12 for third in THIRDS[minor]}
    heard = {pitch % 12 for pitch in sounding(MANDOLIN[name], STANDARD)}
    assert heard <= classes
    assert {Key(root).root_class, (Key(root).root_class + THIRDS[minor][1]) % 12} <= heard


@given(st.data())
def test_a_shape_found_sounds_its_chord_and_fits_a_hand(draw, data):
    tuning = data.draw(draw.tunings)
    chord = chord_on(data.draw(draw.keys), data.draw(st.integers(1, 7)))
    shape = easiest(chord.classes, tuning)
    if shape is None:
        return
    heard = {pitch % 12 for pitch in sounding(shape, tuning)}
    assert heard <= set(chord.classes)
    assert set(chord.classes[:2]) <= heard
    stopped = [fret for fret in shape if fret]
    assert len(stopped) <= 4
    assert not stopped or max(stopped) - min(stopped) <= 3


@settings(max_examples=25)
@given(st.data())
def test_the_fifth_is_there_wherever_a_hand_can_take_it(draw, data):
    tuning = data.draw(draw.tunings.filter(lambda t: len(t.strings) <= 4))
    chord = chord_on(data.draw(draw.keys), data.draw(st.integers(1, 7)))
    whole = [
        shape
        for shape in product(range(6), repeat=len(tuning.strings))
        if {pitch % 12 for pitch in sounding(shape, tuning)} == set(chord.classes)
        and max(fret or 9 for fret in shape) - min(fret or 9 for fret in shape) <= 3
        and all(shape)
    ]
    found = easiest(chord.classes, tuning)
    if whole:
        assert found is not None
        assert {pitch % 12 for pitch in sounding(found, tuning)} == set(chord.classes)


def test_a_shape_is_found_in_other_tunings():
    a_major = chord_on(Key("A"), 1)
    assert easiest(a_major.classes, parse_tuning("AEAE")) == (0, 0, 4, 0)
    assert easiest(chord_on(Key("G"), 1).classes, parse_tuning("GDGB")) == (0, 0, 0, 0)


def test_banjo_shapes_of_five_strings_and_none_of_eight():
    banjo = parse_tuning("gDGBD")
    assert easiest(chord_on(Key("G"), 1).classes, banjo) == (0, 0, 0, 0, 0)
    eight = parse_tuning("G2 G2 D3 D3 A3 A3 D4 D4")
    assert shape_of(Chord("G", (7, 11, 2)), eight) is None


def test_chords_are_shown_over_the_notes_with_their_shapes(subject):
    made = chords(subject("d2fa g2bg|e2ce d4|"))
    chord_row, letters = made.lines[1:3]
    for name, letter, place in (("D", "d", 0), ("G", "g", 3), ("A", "e", 6)):
        column = letters.index(letter, 11)
        assert chord_row[column:].startswith(name), place
    told = "Frets from the low string of GDAE: D 2002, G 0023, A 2245."
    assert " ".join(" ".join(made.lines[-2:]).split()) == told
    assert made.pieces[0].under[0] == (57, 62, 69, 78)


# --- melody with chords between ---


def test_a_chord_is_struck_in_the_second_half_of_a_long_note(subject):
    start = a_start("d4 fa g2|", Key("D"))
    notes, strikes = between(start, harmony(start, Key("D"), "C|"), "C|")
    assert [n.quarters for n in notes] == [1, 1, Fraction(1, 2), Fraction(1, 2)] + [
        Fraction(1, 2)
    ] * 2
    assert [c.name if c else "" for c in strikes] == ["", "D", "", "", "", "D"]


def test_in_a_jig_the_chord_comes_on_the_third_eighth():
    start = a_start("d3 fed|", Key("D"), "6/8")
    notes, strikes = between(start, harmony(start, Key("D"), "6/8"), "6/8")
    assert [n.quarters for n in notes][:2] == [1, Fraction(1, 2)]
    assert [bool(c) for c in strikes] == [False, True, False, False, False]


@settings(max_examples=40)
@given(st.data(), st.sampled_from(METRES))
def test_melody_and_chords_together_last_as_long(draw, data, metre):
    start = data.draw(draw.starts())
    notes, strikes = between(start, harmony(start, start.key, metre), metre)
    assert sum(n.quarters for n in notes) == sum(n.quarters for n in start.notes)
    melody = [n.pitch for n, struck in zip(notes, strikes, strict=True) if struck is None]
    assert melody == [n.pitch for n in start.notes]


def test_without_a_long_note_there_is_no_room_for_chords(subject):
    assert not strummed(subject("defg abag|")).possible
    assert not strummed(subject("d4", metre="")).possible


# --- two strings ---


def test_the_root_drones_on_the_string_beside(subject):
    made = drones(subject("D2FA e2f2"))
    opens = next(line for line in made.lines if line.startswith("  open"))
    assert opens.split()[1:] == ["A", "A", "D", "A", "A"]


def test_the_easiest_drones_come_first(subject):
    """The open string next below the one played: common practice, no source."""
    made = drones(subject("D2FA e2f2"))
    assert made.lines[:2] == (
        "Easiest: open D under A, open A under E.",
        "A start",
    )
    assert drones(subject("E2G2", key=Key("E"))).lines[0] == "A start"


def test_no_drone_under_b_flat(subject):
    made = drones(subject("B,2D2", key=Key("Bb")))
    assert made.caution == "No open string of GDAE drones under Bb."


@given(st.data())
def test_a_drone_is_an_open_neighbour_on_root_or_fifth(draw, data):
    start, tuning = data.draw(draw.starts()), data.draw(draw.tunings)
    places = fingering(start.notes, tuning).places
    for place, string in zip(places, drone_with(start, start.key, tuning, "C|"), strict=True):
        if string is not None:
            assert abs(string - place.string) == 1
            assert string in drone_strings(start.key.root_class, tuning)


def test_b_on_the_a_string_goes_with_g_on_the_e_string(subject):
    """A1 with E low 2 on a G chord: two fingers."""
    start = a_start("B4 d4|", Key("G"))
    stops = stops_for(start, Key("G"), STANDARD, "C|")
    assert Place(E, 3, 2) in stops[0]
    made = double_stops(subject("B4 d4|", key=Key("G")))
    assert "EL2 (g)" in made.lines[1]


@given(st.data())
def test_double_stops_lie_on_neighbouring_strings_and_sound_together(draw, data):
    start, tuning = data.draw(draw.starts()), data.draw(draw.tunings)
    metre = data.draw(st.sampled_from(METRES))
    places = fingering(start.notes, tuning, metre).places
    for note, place, stops in zip(
        start.notes, places, stops_for(start, start.key, tuning, metre), strict=True
    ):
        for stop in stops:
            assert abs(stop.string - place.string) == 1
            assert abs(midi_at(stop, tuning) - note.pitch.midi) in CONSONANT
            if stop.finger == place.finger:
                assert stop.semitones == place.semitones
            if stop.semitones and place.semitones:
                assert abs(stop.semitones - place.semitones) <= 5
        ranks = [CONSONANT[abs(midi_at(stop, tuning) - note.pitch.midi)] for stop in stops]
        assert ranks == sorted(ranks)


def test_without_long_notes_the_first_of_each_bar_is_leaned_on():
    start = a_start("d|dAFA dfed|gfed BGBd|", Key("D"))
    found = stops_for(start, Key("D"), STANDARD, "C|")
    assert [number for number, stops in enumerate(found) if stops] == [1, 9]
