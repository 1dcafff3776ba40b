"""Music code of one start. Section numbers are those of the ABC 2.1 standard (December 2011)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.notes import parse_notes, write_notes
from tunememory.music.key import MODES, Key
from tunememory.music.metre import bar_quarters
from tunememory.music.pitch import Note, Pitch

ROOTS = ("C", "G", "D", "A", "E", "B", "F", "Bb", "Eb", "F#", "Ab")
METRES = ("4/4", "C", "C|", "2/4", "3/4", "6/8", "9/8", "12/8", "3/2", "5/8", "(2+3+2)/8")

keys = st.one_of(
    st.none(),
    st.builds(
        Key,
        st.sampled_from(ROOTS),
        st.sampled_from(MODES),
        st.dictionaries(st.sampled_from("ABCDEFG"), st.integers(-2, 2), max_size=2).map(
            lambda changes: tuple(sorted(changes.items()))
        ),
    ),
)
lengths = st.one_of(
    st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(1, 3)]),
    st.builds(Fraction, st.integers(1, 40), st.integers(1, 24)),
)
notes = st.builds(
    Note,
    st.builds(Pitch, st.integers(1, 8), st.sampled_from("CDEFGAB"), st.integers(-2, 2)),
    lengths,
)


def letters(text: str, key: Key | None = None, metre: str = "4/4") -> str:
    """Each note as midi:quarters."""
    read = parse_notes(text, key, metre)
    return " ".join(f"{note.pitch.midi}:{note.quarters}" for note in read.notes)


@given(
    st.lists(notes, min_size=1, max_size=24),
    keys,
    st.sampled_from((*METRES, "none", "", "nonsense")),
    st.sampled_from([Fraction(1, 8), Fraction(1, 16), Fraction(1, 4), Fraction(1, 12)]),
    st.fractions(0, 4, max_denominator=12),
)
def test_written_notes_read_back_the_same(some, key, metre, unit, pickup):
    bar = bar_quarters(metre)
    if bar is None or pickup >= bar or pickup > sum(note.quarters for note in some):
        pickup = Fraction(0)
    text = write_notes(some, pickup=pickup, metre=metre, key=key, unit=unit)
    read = parse_notes(text, key, metre)
    assert read.problem == ""
    assert read.notes == tuple(some)
    assert read.pickup == pickup


@given(st.text(max_size=200), keys, st.sampled_from(METRES))
def test_any_text_is_read_without_an_error(text, key, metre):
    read = parse_notes(text, key, metre)
    assert all(note.quarters > 0 and 0 <= note.pitch.midi <= 127 for note in read.notes)


def test_a_jig_start_is_written_as_players_write_it():
    key = Key("D")
    read = parse_notes("A|d2f a2f|g2ec>de|", key, "6/8")
    assert read.pickup == Fraction(1, 2)
    text = write_notes(read.notes, pickup=read.pickup, metre="6/8", key=key)
    assert text == "A|d2f a2f|g2e c>de|"


def test_an_accidental_is_written_once_a_bar_and_again_after_it():
    read = parse_notes("^c2c2=c2^c2|c4^c4-|c4^c4", Key("G"), "4/4")
    text = write_notes(read.notes, pickup=read.pickup, metre="4/4", key=Key("G"))
    assert text == "^c2c2 =c2^c2|c4 ^c4-|c4 ^c4|"


def test_sixteenths_are_written_in_their_own_unit():
    read = parse_notes("[L:1/16]A2|d2f2a2f2|", Key("D"), "2/4")
    text = write_notes(
        read.notes, pickup=read.pickup, metre="2/4", key=Key("D"), unit=Fraction(1, 16)
    )
    assert text == "[L:1/16]A2|d2f2 a2f2|"


def test_an_empty_start_is_an_empty_text():
    assert write_notes((), pickup=Fraction(0), metre="4/4", key=None) == ""
    assert parse_notes("", None, "4/4").notes == ()


@pytest.mark.parametrize(
    ("text", "place"),
    [("d2 7f", 4), ("hello", 1), ("d/0", 1), ("d^", 2), ("[CEG", 1), ('"Am d', 1), ("[K:G]d", 0)],
)
def test_what_cannot_be_read_is_named_with_its_place(text, place):
    problem = parse_notes(text, None, "4/4").problem
    assert "\n" not in problem
    assert f"at place {place}" in problem if place else "K:G" in problem


def test_octaves_4_1():
    assert letters("C,',") == letters("C,")
    assert letters("C'") == letters("c")
    assert letters("C, C c c'") == "48:1/2 60:1/2 72:1/2 84:1/2"


def test_accidentals_4_2():
    assert letters("^C ^^C =C _C __C") == "61:1/2 62:1/2 60:1/2 59:1/2 58:1/2"


def test_lengths_4_3():
    assert letters("A/ A/2 A// A/4 A3/2 A3/") == "69:1/4 69:1/4 69:1/8 69:1/8 69:3/4 69:3/4"
    assert letters("[L:1/16]A3") == "69:3/4"


def test_broken_rhythm_4_4():
    assert letters("a>b") == "81:3/4 83:1/4"
    assert letters("a>>b") == "81:7/8 83:1/8"
    assert letters("a>>>b") == "81:15/16 83:1/16"
    assert letters("a<b") == "81:1/4 83:3/4"
    assert letters("a<<<b") == "81:1/16 83:15/16"


def test_rests_4_5_lengthen_the_note_before():
    assert letters("Az3") == "69:2"
    assert letters("Ax3") == "69:2"
    assert letters("A4z4|Z2|") == "69:12"
    assert letters("A4z4|X|") == "69:8"
    assert letters("z2A2") == "69:1"


def test_backticks_mean_nothing_4_7():
    assert letters("A2``B``C") == letters("A2BC")


@pytest.mark.parametrize(
    "bar",
    ["|", "|]", "||", "[|", "|:", ":|", "::", ":|:", ":||:", "|::", "::|", ".|", "[|]", "|[|",
     "[|:::", ":|]", "|1", "[1", "|[1,3", ":|2", "| [1"],
)  # fmt: skip
def test_bar_lines_4_8_end_accidentals(bar):
    read = parse_notes(f"^c2 {bar} c2", None, "4/4")
    assert [note.pitch.midi for note in read.notes] == [73, 72]
    assert read.problem == ""
    assert read.pickup == 1


def test_ties_and_slurs_4_11():
    assert letters("A2-A2") == "69:2"
    assert letters("A4-|A4") == "69:4"
    assert letters("^c2-|c2 c2") == "73:2 72:1"
    assert letters("abc-|cba") == "81:1/2 83:1/2 72:1 83:1/2 81:1/2"
    assert letters("(c (d e f) g a)") == letters("c d e f g a")
    assert letters("A2-B2") == "69:1 71:1"


def test_graces_4_12_do_not_touch_broken_rhythm():
    assert letters("A<{g}A") == letters("A{g}<A") == letters("A/2{g}A3/2")
    assert letters("{/g}C") == letters("{GdGe}C") == letters("C")


@pytest.mark.parametrize(
    ("text", "metre", "each"),
    [
        ("(2AB", "6/8", "3/4"),
        ("(3ABC", "4/4", "1/3"),
        ("(4ABCD", "6/8", "3/8"),
        ("(5ABCDE", "4/4", "1/5"),
        ("(5ABCDE", "6/8", "3/10"),
        ("(6ABCDEF", "4/4", "1/6"),
        ("(7ABCDEFG", "4/4", "1/7"),
        ("(7ABCDEFG", "9/8", "3/14"),
        ("(8ABCDEFGA", "4/4", "3/16"),
        ("(9ABCDEFGAB", "4/4", "1/9"),
        ("(9ABCDEFGAB", "12/8", "1/6"),
        ("(3:2:3ABC", "4/4", "1/3"),
    ],
)
def test_tuplets_4_13(text, metre, each):
    read = parse_notes(text, None, metre)
    assert {note.quarters for note in read.notes} == {Fraction(each)}


def test_tuplet_forms_4_13():
    assert letters("(3::2ABC") == letters("(3:2:2ABC") == "69:1/3 71:1/3 60:1/2"
    assert letters("(3:2ABC") == letters("(3ABC") == letters("(3 ABC")
    assert letters("(3 D3EF2") == "62:1 64:1/3 65:2/3"


def test_decorations_4_14_are_skipped():
    plain = letters("c2 d2")
    for sign in ("~", "H", "L", "M", "O", "P", "S", "T", "u", "v", ".", "!trill!", "+trill+",
                 "!anythingatallthatislongerthantwenty!", "!<(!"):  # fmt: skip
        read = parse_notes(f"{sign}c2 {sign}d2", None, "4/4")
        assert " ".join(f"{n.pitch.midi}:{n.quarters}" for n in read.notes) == plain
        assert read.problem == ""


def test_chords_4_17_are_their_highest_note():
    assert letters("[CEG]2") == letters("G2")
    assert letters("[C2E2G2]3") == letters("[CEG]6") == letters("G6")
    assert letters("[DD]2") == letters("D2")
    assert letters("[C4G2]") == letters("G4")
    assert letters("[CEG]-[CEG]") == letters("G2")


def test_chords_between_plus_signs_of_older_abc():
    assert letters("+E3A3+") == letters("A3")


def test_chord_symbols_and_annotations_4_18_4_19():
    assert letters('"Am7"A2 "^slow"B2 "_x"c2 "<1"d2 ">2"e2 "@1,2 f"f2') == letters("A2B2c2d2e2f2")


def test_order_4_20():
    assert letters('{g}"Am""^hi"!trill!^c\'2-c\'2') == "85:2"


def test_overlay_7_4_leaves_the_first_voice():
    assert letters("A4 B4 & C4 D4 | c4") == letters("A4 B4 | c4")
