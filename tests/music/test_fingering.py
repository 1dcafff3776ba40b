import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes
from tunememory.music.fingering import (
    BANDS,
    drone_strings,
    easy_drones,
    easy_drones_words,
    fingering,
    move,
)
from tunememory.music.key import Key
from tunememory.music.strings import STANDARD, Place, Tuning, parse_tuning, place_name, places_of
from tunememory.music.typed_starts import read_start

G, D, A, E = range(4)


def at(name):
    """Place from its name on a fiddle in standard tuning."""
    strings = {"G": G, "D": D, "A": A, "E": E}
    marks = {"0": 0, "L1": 1, "1": 2, "L2": 3, "2": 4, "3": 5, "H3": 6, "L4": 6, "4": 7, "H4": 8}
    return Place(strings[name[0]], marks[name[1:]], int(name[-1]))


def notes(text, key="D", metre="C|"):
    return parse_notes(text, Key(key), metre).notes


def fingers(text, key="D", tuning=STANDARD, metre="C|"):
    places = fingering(notes(text, key, metre), tuning).places
    return " ".join(place_name(place, tuning) for place in places)


def cost(before, after, *, quick=False):
    return move(at(before), at(after), STANDARD, quick=quick)[0]


# From each finger to the next one, low or high, a semitone or a tone away.
STEPS_ON_ONE_STRING = [
    (string + low, string + high)
    for string in "GDAE"
    for one, other in itertools.pairwise([["0"], ["L1", "1"], ["L2", "2"], ["3", "H3"], ["4"]])
    for low, high in itertools.product(one, other)
    if at("G" + high).semitones - at("G" + low).semitones <= 2
]


@pytest.mark.parametrize(("before", "after"), STEPS_ON_ONE_STRING)
def test_moves_that_trouble_learners_cost_more_than_any_step_on_one_string(before, after):
    """Common practice, no source: A1 to D3, A0 to D3, and E low 2 to A3 most of all."""
    step = max(cost(before, after), cost(after, before))
    assert step < cost("A1", "D3")
    assert step < cost("A0", "D3")
    assert cost("EL2", "A3") > max(cost("A1", "D3"), cost("A0", "D3"))


def test_c_major_from_g_major_keeps_every_finger_one_string_lower():
    """Common practice, no source: start one string lower (A1 becomes D1)."""
    in_g = notes("BdBG DGBd|g2fg", "G")
    in_c = notes("EGEC G,CEG|c2Bc", "C")
    higher, lower = fingering(in_g, STANDARD).places, fingering(in_c, STANDARD).places
    assert higher[0] == at("A1")
    assert [p and replace(p, string=p.string - 1) for p in higher] == list(lower)


def test_a_major_from_g_major_changes_fingers():
    """Common practice, no source: what was A1 is A2."""
    assert fingers("B d", "G") == "A1 A3"
    assert fingers("c e", "A") == "A2 E0"


def test_two_fingers_give_a_g_chord_on_the_upper_strings():
    """Common practice, no source: A1 with E low 2."""
    sounding = {STANDARD.strings[p.string] + p.semitones for p in (at("A1"), at("EL2"))}
    assert sounding == {71, 79}
    assert {pitch % 12 for pitch in sounding} <= {7, 11, 2}


@pytest.mark.parametrize(
    ("root", "tuning", "pairs"),
    [
        # The string played, the open one below it; the root before the fifth.
        ("G", "GDAE", ((D, G), (A, D))),
        ("D", "GDAE", ((A, D), (E, A))),
        ("A", "GDAE", ((E, A),)),
        # The top string drones under nothing.
        ("E", "GDAE", ()),
        ("F", "GDAE", ()),
        ("A", "AEAE", ((1, 0), (3, 2), (2, 1))),
    ],
)
def test_the_easy_drone_is_the_open_string_below(root, tuning, pairs):
    """Common practice, no source."""
    assert easy_drones(Key(root).root_class, parse_tuning(tuning)) == pairs


def test_easy_drones_in_words():
    assert easy_drones_words(7, STANDARD) == "open G under D, open D under A"
    assert easy_drones_words(9, parse_tuning("AEAE")).startswith(
        "open low A under low E, open high A under high E"
    )
    assert easy_drones_words(5, STANDARD) == ""


@pytest.mark.parametrize(
    ("root", "tuning", "drones"),
    [
        ("G", "GDAE", (G, D)),
        ("D", "GDAE", (D, A)),
        ("A", "GDAE", (A, E)),
        ("E", "GDAE", (E,)),
        ("C", "GDAE", (G,)),
        ("B", "GDAE", ()),
        ("F", "GDAE", ()),
        ("A", "AEAE", (0, 2, 1, 3)),
        ("D", "DDAD", (0, 1, 3, 2)),
        ("G", "gDGBD", (0, 2, 1, 4)),
    ],
)
def test_drone_strings(root, tuning, drones):
    """Root first, then the fifth: common practice, no source."""
    assert drone_strings(Key(root).root_class, parse_tuning(tuning)) == drones


@pytest.mark.parametrize(
    ("text", "key", "wanted"),
    [
        ("DEFG ABcd", "D", "D0 D1 D2 D3 A0 A1 A2 A3"),
        ("efga b", "D", "E0 E1 EL2 E3 E4"),
        ("G,A,B,C", "C", "G0 G1 G2 G3"),
        # The letter of the note decides the finger.
        ("^d _e", "C", "AH3 AL4"),
        ("_d _A _a _B,", "C", "AL3 DL4 EL3 GL2"),
        ("^A, ^e ^E", "C", "GH1 AH4 DH1"),
        ("^A _B _C", "C", "AL1 AL1 GL3"),
        ("c'", "C", "EH4"),
        ("d'", "C", "–"),
        ("F,", "C", "–"),
        # The open string, unless the fourth finger saves two crossings.
        ("GABA", "G", "D3 A0 A1 A0"),
        ("d2e2d2", "D", "A3 A4 A3"),
    ],
)
def test_fingerings_in_standard_tuning(text, key, wanted):
    """First position as printed in violin methods."""
    assert fingers(text, key) == wanted


@pytest.mark.parametrize(
    ("text", "tuning", "wanted"),
    [
        # The C sharp string of calico, the B string of open G.
        ("^d e f ^f g a", "AEAC#", "C#1 C#L2 C#L3 C#3 C#L4 C#H4"),
        ("^c d e f ^f", "GDGB", "B1 BL2 B3 BL4 B4"),
    ],
)
def test_the_letter_counts_from_the_open_string_in_any_tuning(text, tuning, wanted):
    assert fingers(text, "C", parse_tuning(tuning)) == wanted


def test_cross_tunings_make_their_own_keys_easier():
    """Common practice, no source: A tunes lie better in AEAE, G tunes in GDGD."""
    in_a = notes("e2ce A2ce|edcB A2E2|A,CEA cAEC", "A")
    assert fingering(in_a, parse_tuning("AEAE")).awkwardness < fingering(in_a, STANDARD).awkwardness
    in_g = notes("GBdB GBdg|dBGB D2G2", "G")
    assert fingering(in_g, parse_tuning("GDGD")).awkwardness < fingering(in_g, STANDARD).awkwardness


def test_a_start_half_a_tone_up_is_awkward():
    easy = fingering(notes("d2fd Adfa|gfed", "D"), STANDARD)
    hard = fingering(notes("_e2=g_e _B_e=g_b|_a=g=f_e", "Eb"), STANDARD)
    assert easy.awkwardness < 0.24 < hard.awkwardness
    words = [word for _limit, word in BANDS]
    assert words.index(easy.band) < words.index(hard.band)


def test_the_hardest_moves_are_told_in_a_sentence():
    told = fingering(notes("B2 G2 g2 d2", "D"), STANDARD).hardest(3)
    assert [move.why for move in told] == [
        "D3 to E low 2: skips a string",
        "E low 2 to A3: crosses to the string below and sets another finger",
        "A1 to D3: crosses to the string below and sets another finger",
    ]
    assert [move.note for move in told] == [2, 3, 1]


def test_each_move_is_told_once_and_easy_ones_not_at_all():
    assert len(fingering(notes("BGBGBG", "G"), STANDARD).hardest(9)) == 2
    assert fingering(notes("A2B2", "D"), STANDARD).hardest() == ()
    assert fingering((), STANDARD).hardest() == ()


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        ("A1", "D1", "A1 to D1: crosses to the string below, one finger has to stop both"),
        ("A1", "EL1", "A1 to E low 1: crosses to the string above, the same finger has to move"),
        ("G2", "A2", "G2 to A2: skips a string with the same finger"),
        ("G0", "E0", "G0 to E0: skips two strings"),
        ("DL2", "D2", "D low 2 to D2: the same finger moves a semitone"),
        ("DL1", "D4", "D low 1 to D4: low 1 and 4 stretch the hand"),
        # E flat after D is another finger's, D sharp the same one's.
        ("A3", "AL4", "A3 to A low 4: stays on the string"),
        ("A3", "AH3", "A3 to A high 3: the same finger moves a semitone"),
        ("A0", "A1", "A0 to A1: stays on the string"),
    ],
)
def test_moves_in_words(before, after, why):
    assert move(at(before), at(after), STANDARD)[1] == why


def test_a_quick_crossing_costs_more_than_a_slow_one():
    assert cost("A1", "E1", quick=True) > cost("A1", "E1")
    assert cost("A0", "A1", quick=True) == cost("A0", "A1")


def test_leaving_first_position_is_the_worst_move():
    assert move(at("E0"), None, STANDARD) == (5.0, "E0 to out of reach: leaves first position")


def test_no_notes_cost_nothing():
    empty = fingering((), STANDARD)
    assert (empty.places, empty.moves, empty.awkwardness, empty.band) == ((), (), 0.0, "easy")


@given(st.data())
def test_every_note_lies_where_it_sounds(draw, data):
    tuning = data.draw(draw.tunings)
    line = data.draw(draw.notes)
    found = fingering(line, tuning)
    assert len(found.places) == len(line)
    assert len(found.moves) == len(line) - 1
    for note, place in zip(line, found.places, strict=True):
        if place is None:
            assert not places_of(note.pitch, tuning)
        else:
            assert tuning.strings[place.string] + place.semitones == note.pitch.midi


@given(st.data())
def test_no_other_fingering_is_cheaper(draw, data):
    """The dynamic programming against trying every fingering, on short lines."""
    tuning = data.draw(draw.tunings)
    line = data.draw(draw.notes)[:4]
    best = fingering(line, tuning)
    choices = [places_of(note.pitch, tuning) or (None,) for note in line]
    for string in tuning.strings:
        along = fingering(line, Tuning((string,)))
        # A string out of reach of a note is no fingering of the line.
        if None not in along.places:
            assert best.awkwardness <= along.awkwardness + 1e-9
    assert best.places in set(itertools.product(*choices))


@given(st.data())
def test_transposing_by_a_string_keeps_the_awkwardness(draw, data):
    """All strings a fifth apart: one string down is a fifth down, wherever there is one."""
    fifths = Tuning((48, 55, 62, 69, 76, 83))
    midis = data.draw(st.lists(st.integers(62, 76), min_size=1, max_size=12))
    here = fingering(draw.plain(midis), fifths)
    below = fingering(draw.plain([midi - 7 for midi in midis]), fifths)
    assert here.awkwardness == pytest.approx(below.awkwardness)


def test_fingers_typed_are_found_again_in_the_example_of_the_entry_form():
    start = read_start(
        "A1 D3 E low 2 DL2 D0", part="A", key=Key("D"), metre="C|", tuning=STANDARD, form="fingers"
    )
    places = fingering(start.notes, STANDARD).places
    assert [place_name(place, STANDARD) for place in places] == ["A1", "D3", "EL2", "DL2", "D0"]
