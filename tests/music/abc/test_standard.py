"""Facts of the ABC 2.1 standard (December 2011) about files, headers and bodies, by section."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tunememory.music.abc.books import read_book
from tunememory.music.abc.reading import ReadTune
from tunememory.music.key import Key

REEL = "X:1\nT:Test\nM:4/4\nL:1/8\nK:D\n"


def titles(text: str) -> list[str]:
    tunes = read_book(text.encode()).tunes
    return [tune.titles[0] for tune in tunes if isinstance(tune, ReadTune)]


def midi(tune: ReadTune, part: int = 0) -> list[int]:
    return [note.pitch.midi for note in tune.starts[part].notes]


def lengths(tune: ReadTune) -> list[Fraction]:
    return [note.quarters for note in tune.starts[0].notes]


def test_2_2_1_a_tune_ends_at_an_empty_line():
    assert titles("X:1\nT:One\nK:D\ndddd|\n\nX:2\nT:Two\nK:G\ngggg|\n") == ["One", "Two"]


def test_2_2_2_the_file_header_holds_for_every_tune_and_yields_to_its_own_fields():
    text = "M:6/8\nL:1/4\nR:jig\nS:the schoolmaster\n\n"
    text += "X:1\nT:One\nK:D\nddd fff|\n\nX:2\nT:Two\nM:C|\nL:1/8\nR:reel\nK:D\ndddd ffff|\n\n"
    text += "X:3\nT:Three\nK:D\nddd fff|\n"
    one, two, three = read_book(text.encode()).tunes
    assert isinstance(one, ReadTune)
    assert isinstance(two, ReadTune)
    assert isinstance(three, ReadTune)
    assert (one.metre, one.kind, lengths(one)[0]) == ("6/8", "jig", 1)
    assert (two.metre, two.kind, lengths(two)[0]) == ("C|", "reel", Fraction(1, 2))
    assert (three.metre, three.kind, lengths(three)[0]) == ("6/8", "jig", 1)
    assert one.source == two.source == "the schoolmaster"
    assert "S:the schoolmaster" in one.abc
    assert one.abc.startswith("X:1\nM:6/8")


def test_2_2_4_a_line_of_blanks_is_empty():
    assert titles("X:1\nT:One\nK:D\ndddd|\n  \t \nX:2\nT:Two\nK:G\ngggg|\n") == ["One", "Two"]


def test_2_2_5_comments_are_as_if_they_were_not_there(read):
    tune = read(
        "X:1\nT:One %not this\nM:4/4\nL:1/8\nK:D % two sharps\ndddd%ffff\n% a line\nffff|\n"
    )
    assert tune.titles == ("One",)
    assert midi(tune) == [74] * 4 + [78] * 4
    assert read("X:1\nT:Up 5\\% more\nK:D\ndddd|\n").titles == ("Up 5% more",)


def test_2_2_5_a_remark_within_a_line_is_passed_over(read):
    assert midi(read(REEL + "dd[r:a remark]ff AAAA|\n")) == [74, 74, 78, 78] + [69] * 4


def test_3_1_1_x_may_be_empty(read):
    assert read("X:\nT:One\nK:D\ndddd|\n").titles == ("One",)


def test_3_1_2_further_titles_and_titles_of_parts(read):
    tune = read("X:1\nT:One\nT:The Other\nT:\nM:4/4\nL:1/8\nK:D\nd8|f8|d8|f8|d8|f8|d8|f8|\n"
                "T:Second part\na8|f8|a8|f8|a8|f8|a8|f8|\n")  # fmt: skip
    assert tune.titles == ("One", "The Other")
    assert len(tune.starts) == 2
    assert midi(tune, 1)[0] == 81


@pytest.mark.parametrize(
    ("metre", "kept"),
    [("C", "C"), ("C|", "C|"), ("none", ""), ("6/8", "6/8"), ("(2+3+2)/8", "(2+3+2)/8"),
     ("2+3+2/8", "2+3+2/8"), (" 9/8 ", "9/8")],
)  # fmt: skip
def test_3_1_6_metres(read, metre, kept):
    assert read(f"X:1\nT:One\nM:{metre}\nK:D\ndddd|\n").metre == kept
    assert not [d for d in read(f"X:1\nT:One\nM:{metre}\nK:D\ndddd|\n").doubts if "M:" in d]


def test_3_1_6_no_metre_is_free_metre(read):
    tune = read("X:1\nT:One\nL:1/8\nK:D\ndddddf|ffff|aaaa|\n")
    assert tune.metre == ""
    assert len(tune.starts[0].notes) == 10
    assert "no metre" in tune.starts[0].doubt


@pytest.mark.parametrize(
    ("metre", "quarters"),
    [("2/4", "1/4"), ("3/8", "1/4"), ("3/4", "1/2"), ("6/8", "1/2"), ("C", "1/2"), ("C|", "1/2"),
     ("none", "1/2")],
)  # fmt: skip
def test_3_1_7_unit_length_that_is_not_given(read, metre, quarters):
    tune = read(f"X:1\nT:One\nM:{metre}\nK:D\ndddd|\n")
    assert set(lengths(tune)) == {Fraction(quarters)}


def test_3_1_7_a_change_of_metre_leaves_the_unit_length(read):
    tune = read("X:1\nT:One\nM:2/4\nK:D\nM:6/8\nddd|fff|\n")
    assert set(lengths(tune)) == {Fraction(1, 4)}
    assert set(lengths(read("X:1\nT:One\nM:2/4\nK:D\nL:1/8\ndd|ff|\n"))) == {Fraction(1, 2)}


def test_3_1_8_any_tempo_is_passed_over(read):
    for tempo in ("1/4 3/8 1/4 3/8=40", '"Andante"', "fast", "1/4=c120", ""):
        assert midi(read(f"X:1\nT:One\nM:4/4\nL:1/8\nQ:{tempo}\nK:D\ndddd ffff|\n"))[0] == 74


def test_3_1_9_parts_by_name(read):
    music = "P:A\nd8|f8|d8|f8|\nP:B\na8|f8|a8|f8|\nP:A\nd8|f8|d8|f8|\n"
    for order in ("(AB)3", "A3", "((AB)3.(CD)3)2"):
        tune = read(f"X:1\nT:One\nM:4/4\nL:1/8\nP:{order}\nK:D\n{music}")
        assert [start.part for start in tune.starts] == ["A", "B"]
        assert [midi(tune, part)[0] for part in (0, 1)] == [74, 81]


def test_3_1_9_parts_in_mid_line(read):
    tune = read(REEL + "[P:A]d8|f8|d8|f8|[P:B]a8|f8|a8|f8|\n")
    assert [start.part for start in tune.starts] == ["A", "B"]


def test_3_1_14_the_first_key_ends_the_header(read):
    tune = read("X:1\nT:One\nM:4/4\nL:1/8\nK:D\nK:G\nffff|cccc|\n")
    assert tune.key == Key("D")
    assert tune.starts[0].key == Key("G")
    assert midi(tune) == [78] * 4 + [72] * 4


def test_3_1_14_what_is_told_of_the_tune_right_after_its_key_is_heeded(read):
    tune = read("X:1\nT:One\nK:D\nM:6/8\nR:jig\nS:the box player\nA|d3 f3|a3 f3|d6|\n")
    assert (tune.metre, tune.kind, tune.source) == ("6/8", "jig", "the box player")
    assert tune.doubts == ()
    assert tune.starts[0].pickup == Fraction(1, 2)


def test_3_1_14_a_metre_after_the_key_changes_neither_the_tunes_own_nor_the_unit_length(read):
    tune = read("X:1\nT:One\nM:2/4\nK:D\nM:3/4\nd4f4a4|d12|\n")
    assert tune.metre == "2/4"
    assert tune.starts[0].notes[0].quarters == 1
    late = read("X:1\nT:One\nK:D\nM:2/4\nd2f2|d4|\n")
    assert late.metre == "2/4"
    assert late.starts[0].notes[0].quarters == 1


def test_3_1_14_a_part_in_another_key_says_so(read):
    tune = read(REEL + "d8|f8|d8|f8|d8|f8|d8|f8:|\nK:Dmin\nd8|f8|d8|f8|d8|f8|d8|f8:|\n")
    assert [start.key for start in tune.starts] == [None, Key("D", "minor")]
    assert midi(tune, 1)[:2] == [74, 77]


def test_3_1_14_no_key(read):
    tune = read("X:1\nT:One\nM:4/4\nL:1/8\nK:none\nc2e2 g2e2|c2e2 g2e2|c2G2 A2B2|c8|\n")
    assert midi(tune)[0] == 72
    assert tune.key == Key("C")
    assert "no key is given; by the notes it is C major" in tune.doubts[0]


def test_3_1_14_highland_pipes(read):
    tune = read("X:1\nT:One\nM:4/4\nL:1/8\nK:HP\nA2c2 e2a2|f2e2 c2A2|A2c2 e2g2|a4 A4|\n")
    assert midi(tune)[:4] == [69, 73, 76, 81]
    assert midi(tune)[4] == 78
    assert tune.key is not None
    assert tune.key.root == "A"


def test_3_2_inline_fields_hold_from_where_they_stand(read):
    tune = read("X:1\nT:One\nM:4/4\nL:1/8\nK:C\nf4 [K:G]f4|[L:1/4]f2 [M:3/4]f2|\n")
    assert midi(tune) == [77, 78, 78, 78]
    assert lengths(tune) == [2, 2, 2, 2]


def test_3_3_a_field_goes_on(read):
    tune = read("X:1\nT:One\nN:long\n+:and longer\nM:4/4\nL:1/8\nK:D\ndddd|\n")
    assert tune.note == "long and longer"


def test_4_8_and_4_9_repeats_and_endings(read):
    seven = "d8|f8|d8|f8|d8|f8|d8"
    for text in (f"{seven}|1 e8:|2 f8||{seven}|a8:|", f"|:{seven}|[1 e8:|[2 f8|]{seven}|a8:|",
                 f"|:{seven} [1 e8:|2 f8|:{seven}|a8:|", f"{seven}|1,3 e8:|2 f8||{seven}|a8:|",
                 f"{seven}|[1-3 e8:|[4 f8||{seven}|a8:|", f"|::{seven}|e8::|{seven}|a8:|",
                 f"{seven}|e8:||:{seven}|a8:||", f"{seven}|e8::{seven}|a8:|",
                 f"{seven}|e8:|:{seven}|a8:|", f"[|:::{seven}|e8:::|{seven}|a8|]"):  # fmt: skip
        tune = read(REEL + text + "\n")
        assert [start.written for start in tune.starts] == ["d8|f8|d8|f8|"] * 2, text
        assert tune.doubts == (), text


def test_4_8_an_invisible_bar_line_divides_nothing(read):
    assert len(read(REEL + "d8|f8[|]d8|f8|d8|f8|d8|f8|]\n").starts) == 1


def test_4_16_letters_may_stand_for_any_decoration(read):
    text = "X:1\nT:One\nM:4/4\nL:1/8\nU:W = !trill!\nK:D\nWddWff kAAnAA|\n"
    assert midi(read(text)) == [74, 74, 78, 78, 69, 69, 69, 69]


def test_6_1_1_a_line_may_go_on_in_the_next(read):
    tune = read(REEL + "dd \\\nff aa \\\n  ff|AAAA AAAA|\n")
    assert midi(tune)[:8] == [74, 74, 78, 78, 81, 81, 78, 78]
    assert tune.doubts == ()


def test_6_1_2_exclamation_marks_broke_lines_once(read):
    tune = read(REEL + "ddff aaff!AAAA AAAA!|\n")
    assert midi(tune)[0] == 74


def test_7_only_the_first_voice_is_read(read):
    tune = read(REEL + "V:1\ndddd ffff|\nV:2\nAAAA AAAA|\n[V:1]aaaa ffff|[V:2]DDDD DDDD|\n")
    assert midi(tune) == [74] * 4 + [78] * 4 + [81] * 4 + [78] * 4
    assert tune.doubts == ("more than one voice: the first was read",)


def test_words_are_not_notes_5(read):
    tune = read(REEL + "ddff aaff|\nw:a bad egg faced a cab\nAAAA AAAA|\nW:a bad egg\n")
    assert len(midi(tune)) == 16


@pytest.mark.parametrize(
    ("written", "shown"),
    [(r"T\'a an L\'a", "Tá an Lá"), ("T&aacute; an L&aacute;", "Tá an Lá"),
     (r"T\u00e1", "Tá"), (r"\AEon, \O, \ss", r"Æon, \O, ß"),
     (r"Jack \& Jill & co", "Jack & Jill & co"),
     (r'"\"u"', '"ü"'), (r"\cC\vs\aa", "Çšå"), (r"back\\slash", r"back\slash")],
)  # fmt: skip
def test_8_2_accents(read, written, shown):
    assert read(f"X:1\nT:{written}\nK:D\ndddd|\n").titles == (shown,)


def test_11_3_accidentals_hold_as_the_file_says(read):
    music = "^f2 F2 f4|f8|"
    start = "X:1\nT:One\nM:4/4\nL:1/8\n"
    assert midi(read(f"{start}K:C\n{music}\n")) == [78, 66, 78, 77]
    assert midi(read(f"{start}%%propagate-accidentals octave\nK:C\n{music}\n")) == [78, 65, 78, 77]
    assert midi(read(f"{start}I:propagate-accidentals not\nK:C\n{music}\n")) == [78, 65, 77, 77]


def test_11_4_3_typeset_text_is_passed_over(read):
    tune = read(
        REEL + "%%begintext\nadded a bad cabbage | and fed | a cad\n%%endtext\ndddd ffff|\n"
    )
    assert midi(tune) == [74] * 4 + [78] * 4
