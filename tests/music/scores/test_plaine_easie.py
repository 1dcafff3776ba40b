"""Starts in Plaine & Easie code, version 2, against examples of its public specification.

The specification gives code and what it means; a writer is tested the other way round. Examples
that use beams, rests, chords or repeats say things a start does not hold.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.errors import NotDoneError
from tunememory.music.abc.notes import parse_notes
from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.scores.plaine_easie import write_code


def code(abc: str, key: Key | None = None, metre: str = "") -> str:
    read = parse_notes(abc, key, metre)
    assert read.problem == ""
    return write_code(read.notes, pickup=read.pickup, metre=metre, key=key)


def test_octaves_carry_over():
    # AB''CDC'BA is a1 b1 c2 d2 c2 b1 a1.
    assert code("[L:1/4]ABcdcBA") == "%G-2 '4AB''CDC'BA"


def test_octave_signs():
    # 'C''B is c1 b2; ,,C,B is c small octave below, b; ''C'GC,GC,,G goes down four octaves.
    assert code("[L:1/4]Cb") == "%G-2 '4C''B"
    assert code("[L:1/4]C,,B,") == "%G-2 ,,4C,B"
    assert code("[L:1/4]cGCG,C,G,,") == "%G-2 ''4C'GC,GC,,G"


def test_groups():
    # 4(6'DEFGA;5) is five sixteenths in a quarter, 8(6ABC;3) three in an eighth.
    assert code("[L:1/16](5:4:5DEFGA") == "%G-2 4(6'DEFGA;5)"
    assert code("[L:1/16]A(3GAB") == "%G-2 '6A8(6GAB;3)"
    assert code("[L:1/32](5:4:5DEFGA") == "%G-2 8(3'DEFGA;5)"
    assert code("[L:1/8](7:4:7DEFGABc") == "%G-2 2(8'DEFGAB''C;7)"
    # 4('4D8E) is a quarter and an eighth in one quarter.
    assert code("(3:2:2D2E (3:2:2D2E") == "%G-2 4(4'D8E;3)4(4D8E;3)"


def test_ties():
    # The underscore is both the tie and the note it leads to: FG_A, 2''G/_, 2''G/_/4_.
    assert code("[L:1/4]FG2A").replace("'", "") == "%G-2 4F2G4A"
    assert code("[L:1/4]g2-|g2", metre="2/4") == "%G-2@2/4 ''2G/_/"
    assert code("[L:1/4]g2-|g2-|g", metre="2/4") == "%G-2@2/4 ''2G/_/4_"
    assert code("[L:1/4]^g2-|g2-|gg", metre="2/4") == "%G-2@2/4 ''2xG/_/4_G/"
    assert code("[L:1/8]A2B2-|(3BcdA2|", metre="2/4") == "%G-2@2/4 '4AB/4(8_''CD;3)'4A/"


def test_signatures_and_metres():
    # $xFC is two sharps, $bBEA three flats, @c and @c/ the signs of common time.
    assert code("d", Key("D"), "3/4").startswith("%G-2$xFC@3/4 ")
    assert code("e", Key("Eb"), "C").startswith("%G-2$bBEA@c ")
    assert code("d", Key("D", "dorian"), "C|").startswith("%G-2@c/ ")
    assert code("d", Key("D", "major", (("C", 0),)), "C|").startswith("%G-2$xF@c/ ")
    assert code("d", None, "(2+2+3)/8").startswith("%G-2@7/8 ")
    assert code("d", None, "none") == "%G-2 ''8D"


def test_a_jig():
    assert code("d2f a2f|", Key("D"), "6/8") == "%G-2$xFC@6/8 ''4D8F4A8F/"
    assert code("A|d2f afd|", Key("D"), "6/8") == "%G-2$xFC@6/8 '8A/''4D8FAFD/"


def test_accidentals_hold_for_the_name_to_the_bar_line():
    assert code("^c2c2=c2C2|^c8|", None, "4/4") == "%G-2@4/4 ''4xCCnC'C/''1xC/"
    assert code("^^f2__b2", None) == "%G-2 ''4xxFbbB"


def test_dots_and_sums():
    assert code("A3B7/2c5") == "%G-2 '4.A4..B''2C8_"
    assert code("A>B") == "%G-2 '8.A6B"


def test_lengths_without_a_figure():
    with pytest.raises(NotDoneError):
        write_code([Note(Pitch(4, "A"), Fraction(1, 3))], pickup=Fraction(0), metre="", key=None)
    with pytest.raises(NotDoneError):
        write_code([Note(Pitch(4, "A"), Fraction(1, 11))], pickup=Fraction(0), metre="", key=None)
    with pytest.raises(NotDoneError, match="too high"):
        write_code([Note(Pitch(8, "A"), Fraction(1))], pickup=Fraction(0), metre="", key=None)
    with pytest.raises(NotDoneError):
        write_code([Note(Pitch(4, "A"), Fraction(1, 512))], pickup=Fraction(0), metre="", key=None)


@given(
    st.lists(
        st.builds(
            Note,
            st.builds(Pitch, st.integers(1, 7), st.sampled_from("CDEFGAB"), st.integers(-1, 1)),
            st.integers(1, 64).map(lambda n: Fraction(n, 8)),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_every_note_is_written_once(notes):
    text = write_code(notes, pickup=Fraction(0), metre="6/8", key=None).split(" ")[1]
    assert sum(character in "ABCDEFG" for character in text) == len(notes)
