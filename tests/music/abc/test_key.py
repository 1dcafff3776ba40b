"""The ``K:`` field. Section numbers are those of the ABC 2.1 standard (December 2011)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.key import NO_KEY, read_key, write_key, write_signature
from tunememory.music.key import MODES, Key

# The table of section 3.1.14, row by row: sharps (or flats, negative), then the seven modes.
TABLE = """
+7 C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc
+6 F# D#m C#Mix G#Dor A#Phr BLyd E#Loc
+5 B G#m F#Mix C#Dor D#Phr ELyd A#Loc
+4 E C#m BMix F#Dor G#Phr ALyd D#Loc
+3 A F#m EMix BDor C#Phr DLyd G#Loc
+2 D Bm AMix EDor F#Phr GLyd C#Loc
+1 G Em DMix ADor BPhr CLyd F#Loc
0 C Am GMix DDor EPhr FLyd BLoc
-1 F Dm CMix GDor APhr BbLyd ELoc
-2 Bb Gm FMix CDor DPhr EbLyd ALoc
-3 Eb Cm BbMix FDor GPhr AbLyd DLoc
-4 Ab Fm EbMix BbDor CPhr DbLyd GLoc
-5 Db Bbm AbMix EbDor FPhr GbLyd CLoc
-6 Gb Ebm DbMix AbDor BbPhr CbLyd FLoc
-7 Cb Abm GbMix DbDor EbPhr FbLyd BbLoc
"""
COLUMNS = ("major", "minor", "mixolydian", "dorian", "phrygian", "lydian", "locrian")
ROWS = [line.split() for line in TABLE.strip().splitlines()]
KEYS = [
    (text, mode, int(row[0]))
    for row in ROWS
    for text, mode in zip(row[1:], COLUMNS, strict=True)
]  # fmt: skip
SHARPS, FLATS = "FCGDAEB", "BEADGCF"


def signature(fifths: int) -> dict[str, int]:
    """Accidentals in the order sharps and flats are added, independent of the package."""
    alters = dict.fromkeys("ABCDEFG", 0)
    for letter in (SHARPS if fifths > 0 else FLATS)[: abs(fifths)]:
        alters[letter] = 1 if fifths > 0 else -1
    return alters


def test_the_table_holds_105_keys():
    assert len(KEYS) == 105


@pytest.mark.parametrize(("text", "mode", "fifths"), KEYS)
def test_key_table_3_1_14(text, mode, fifths):
    field = read_key(text)
    assert field.doubt == ""
    assert field.key is not None
    assert field.key.mode == mode
    assert text.startswith(field.key.root)
    assert dict(field.alters) == signature(fifths)


@pytest.mark.parametrize(
    ("text", "mode"),
    [("F#MIX", "mixolydian"), ("F# mixolydian", "mixolydian"), ("A Major", "major"),
     ("A ion", "major"), ("A aeolian", "minor"), ("A Min", "minor"), ("EM", "minor"),
     ("ADorian", "dorian"), ("G lydian", "lydian")],
)  # fmt: skip
def test_only_three_letters_of_a_mode_count_in_any_case(text, mode):
    field = read_key(text)
    assert field.key is not None
    assert field.key.mode == mode
    assert field.doubt == ""


def test_explicit_accidentals():
    assert read_key("D Phr ^f").key == Key("D", "phrygian", (("F", 1),))
    assert dict(read_key("D Phr ^f").alters) == signature(-2) | {"F": 1}
    assert dict(read_key("D =c").alters) == signature(1)
    assert dict(read_key("Dmix=c").alters) == signature(1)
    assert dict(read_key("D exp _b _e ^f").alters) == signature(0) | {"B": -1, "E": -1, "F": 1}
    assert dict(read_key("C ^^f __b").alters) == signature(0) | {"F": 2, "B": -2}
    assert dict(read_key("^f").alters) == signature(1)
    assert read_key("^f").key is None


@pytest.mark.parametrize("text", ["", "none", " ", "clef=bass"])
def test_no_key(text):
    assert read_key(text) == NO_KEY
    assert dict(NO_KEY.alters) == signature(0)


@pytest.mark.parametrize("text", ["HP", "Hp"])
def test_highland_pipes_sound_f_and_c_sharp_and_name_no_root(text):
    field = read_key(text)
    assert field.key is None
    assert dict(field.alters) == signature(2)
    assert "pipes" in field.doubt


@pytest.mark.parametrize(
    "text",
    ["G clef=bass", "G bass", "G treble-8", "G middle=d transpose=-2", "G treble octave=-1",
     "clef=alto G", "G major clef=treble+8 stafflines=1"],
)  # fmt: skip
def test_clefs_say_nothing_of_the_key(text):
    field = read_key(text)
    assert field.key == Key("G")
    assert field.doubt == ""


@pytest.mark.parametrize(
    ("text", "read"),
    [("Bn", "B minor"), ("Dmixm", "D mixolydian"), ("g", "G major"), ("G sharp", "G major"),
     ("Gpenta", "G major")],
)  # fmt: skip
def test_slips_are_read_and_doubted(text, read):
    field = read_key(text)
    assert field.key is not None
    assert field.key.name == read
    assert read in field.doubt


@pytest.mark.parametrize("text", ["H", "?", "reel", "1", "\x1b[31m", "ünder"])
def test_what_is_no_key_is_doubted(text):
    field = read_key(text)
    assert field.key is None
    assert field.doubt


@given(
    st.builds(
        Key,
        st.sampled_from([row[1] for row in ROWS]),
        st.sampled_from(MODES),
        st.dictionaries(st.sampled_from("ABCDEFG"), st.integers(-2, 2), max_size=7),
    )
)
def test_a_written_key_reads_back_the_same(key):
    signature_of = Key(key.root, key.mode).alters()
    changes = tuple(sorted((k, v) for k, v in dict(key.changes).items() if v != signature_of[k]))
    whole = Key(key.root, key.mode, changes)
    assert read_key(write_key(whole)).key == whole
    assert read_key(write_key(whole)).doubt == ""


def test_no_key_is_written_as_none():
    assert read_key(write_key(None)) == NO_KEY


@given(st.text(max_size=60))
def test_any_text_gives_seven_letters(text):
    field = read_key(text)
    assert sorted(field.alters) == list("ABCDEFG")


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_a_signature_without_a_root(fifths):
    field = read_key(write_signature(fifths))
    assert field.key is None
    assert field.fifths == fifths
    assert dict(field.alters) == signature(fifths)


def test_accidentals_that_are_no_signature():
    assert read_key("^g").fifths is None
    assert read_key("^f _b").fifths is None
    assert NO_KEY.fifths is None
