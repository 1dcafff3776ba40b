"""Tune books in any state: encodings, splitting, refusals, doubts."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.music.abc.books import read_book, read_one
from tunememory.music.abc.reading import ReadTune, Refusal
from tunememory.music.key import Key

ONE = "X:1\nT:The Salt Road\nR:Reel\nM:C|\nL:1/8\nK:D\nd2fd Adfd|B2ed cABc|d2fd Adfd|gfec d4:|\n"
TWO = "X:2\nT:Low Water\nR:jig\nM:6/8\nL:1/8\nK:G\nGBd gdB|cde dBG|GBd gdB|cAF G3:|\n"


def titles(data: bytes) -> list[str]:
    return [t.titles[0] for t in read_book(data).tunes if isinstance(t, ReadTune)]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end(end):
    text = (ONE + "\n" + TWO).replace("\n", end)
    assert titles(text.encode()) == ["The Salt Road", "Low Water"]


@pytest.mark.parametrize(
    ("codec", "noted"),
    [("utf-8", ""), ("utf-8-sig", ""), ("utf-16", "UTF-16"), ("cp1252", "Windows-1252"),
     ("latin-1", "Windows-1252")],
)  # fmt: skip
def test_encodings(codec, noted):
    name = "Seán Ó Sé" if codec == "latin-1" else "Seán Ó Sé’s"
    result = read_book(ONE.replace("Salt Road", name).encode(codec))
    (tune,) = result.tunes
    assert isinstance(tune, ReadTune)
    assert tune.titles[0].startswith("The Seán Ó Sé")
    assert len(result.notes) == bool(noted)
    assert noted in "".join(result.notes)


def test_big_endian_marks_and_letters_windows_does_not_have():
    assert titles(b"\xfe\xff" + ONE.encode("utf-16-be")) == ["The Salt Road"]
    result = read_book(ONE.replace("Salt", "S\x81lt\xe9").encode("latin-1"))
    assert "Latin-1" in result.notes[0]
    (tune,) = result.tunes
    assert isinstance(tune, ReadTune)
    assert tune.titles == ("The Slté Road",)


def test_a_declared_character_set_is_believed():
    text = "%%abc-charset iso-8859-2\n\n" + ONE.replace("Salt", "Łąka")
    result = read_book(text.encode("iso-8859-2"))
    (tune,) = result.tunes
    assert isinstance(tune, ReadTune)
    assert tune.titles == ("The Łąka Road",)
    assert "iso8859-2" in result.notes[0]
    nonsense = "%%abc-charset base64\n\n" + ONE
    assert titles(nonsense.encode()) == ["The Salt Road"]


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "it is empty"),
        (b"\n\n  \n", "it is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + bytes(range(256)), "this is not a text file"),
        (bytes(range(1, 32)) * 40, "this is not a text file"),
        (b"Dear box player,\n\nthanks.\n", "no tune in it: a tune begins with an X: line"),
        (b"\xef\xbb\xbf", "it is empty"),
    ],
)  # fmt: skip
def test_what_is_no_tune_book_is_refused_in_one_line(data, why):
    total, tunes, _ = read_book(data)
    assert (total, list(tunes)) == (1, [Refusal(0, why)])


def test_a_book_tells_how_many_will_come():
    total, tunes, notes = read_book((ONE + "\n" + TWO).encode())
    assert total == 2
    assert next(tunes).line == 1
    assert next(tunes).line == 9
    assert notes == ()


def test_all_fields_of_a_tune(read):
    tune = read(
        "X:745\nT:Salt Road, The\nT:The Causeway\nC:Trad.\nR:Double Jig\nB:Book of the Hall 12\n"
        "S:the box player\nN:played slowly\nN:\nN:then faster\nH:old\nZ:typed at night\n"
        "M:6/8\nL:1/8\nK:Ador\nA|e3 dBA|BAG A3:|\n"
    )
    assert tune.reference == "745"
    assert tune.line == 1
    assert tune.titles == ("Salt Road, The", "The Causeway")
    assert tune.kind == "jig"
    assert tune.key == Key("A", "dorian")
    assert tune.metre == "6/8"
    assert tune.source == "the box player; Book of the Hall 12"
    assert tune.note == "played slowly\n\nthen faster\nold"
    assert tune.abc.startswith("X:745\nT:Salt Road, The\n")
    assert tune.abc.endswith("A|e3 dBA|BAG A3:|")
    assert tune.doubts == ()
    (start,) = tune.starts
    assert (start.part, start.written, start.pickup) == ("A", "A|e3 dBA|BAG A3|", Fraction(1, 2))


@pytest.mark.parametrize(
    ("given", "kind"),
    [("Reel", "reel"), ("REEL", "reel"), ("Double Jig", "jig"), ("slipjig", "slip jig"),
     ("Reels", "reel"), ("Highland  Fling", "highland fling"),
     ("March & Quickstep", "march & quickstep"), ("", "")],
)  # fmt: skip
def test_kinds_are_an_open_list(read, given, kind):
    assert read(f"X:1\nT:One\nR:{given}\nK:D\ndddd|\n").kind == kind


def test_tunes_without_numbers():
    text = ONE.removeprefix("X:1\n") + "\n" + TWO.removeprefix("X:2\n")
    one, two = read_book(text.encode()).tunes
    assert isinstance(one, ReadTune)
    assert isinstance(two, ReadTune)
    assert (one.titles, two.titles) == (("The Salt Road",), ("Low Water",))
    assert one.doubts == ("line 1: there is no X: line",)
    assert two.doubts == ("line 8: there is no X: line",)


def test_numbers_may_repeat_or_be_no_numbers():
    text = ONE + "\n" + TWO.replace("X:2", "X:1") + "\n" + ONE.replace("X:1", "X:one")
    assert titles(text.encode()) == ["The Salt Road", "Low Water", "The Salt Road"]


def test_no_empty_line_between_tunes():
    assert titles((ONE + TWO).encode()) == ["The Salt Road", "Low Water"]


def test_text_between_tunes_is_passed_over_and_told():
    text = f"Tunes of the hall.\n\n{ONE}\nThis one is a bad egg, a fab deed:\nsee above.\n\n{TWO}"
    result = read_book(text.encode())
    assert len(list(result.tunes)) == result.total == 2
    assert result.notes == ("text between tunes was passed over (from line 1, 11)",)


def test_comments_between_tunes_are_nothing():
    assert read_book(f"{ONE}\n% the next one\n\n{TWO}".encode()).notes == ()
    assert read_book(f"{ONE}\n% the next one\n{TWO}".encode()).notes == ()


def test_an_empty_line_within_a_tune_is_doubted_and_mended():
    text = ONE.replace("|d2fd Adfd|", "|\n\nd2fd Adfd|") + "\n" + TWO
    one, two = read_book(text.encode()).tunes
    assert isinstance(one, ReadTune)
    assert one.doubts == ("line 9: an empty line in the middle of the tune",)
    assert one.starts[0].written == "d2fd Adfd|B2ed cABc|"
    assert isinstance(two, ReadTune)
    assert two.titles == ("Low Water",)


def test_an_empty_line_after_the_title_is_mended():
    (one,) = read_book(ONE.replace("R:Reel", "\nR:Reel").encode()).tunes
    assert isinstance(one, ReadTune)
    assert one.key == Key("D")
    assert one.starts
    assert "empty line" in one.doubts[0]


def test_notes_without_a_tune_are_refused_with_their_line():
    text = f"d2fd Adfd|B2ed cABc|\n\n{ONE}"
    refusal, one = read_book(text.encode()).tunes
    assert refusal == Refusal(1, "notes without an X:, T: or K: line before them")
    assert isinstance(one, ReadTune)


def test_an_empty_number_is_refused_and_a_bare_name_is_taken():
    refused, named, bare = read_book(
        b"X:1\n\nX:2\nT:Only a Name\n\nX:3\nM:2/4\nL:1/8\nK:D\nddff|aaff|\n"
    ).tunes
    assert refused == Refusal(1, "neither a name nor notes")
    assert isinstance(named, ReadTune)
    assert named.starts == ()
    assert named.doubts == (
        "line 3: there is no K: line before the notes",
        "line 3: there are no notes",
    )
    assert isinstance(bare, ReadTune)
    assert bare.titles == ()
    assert bare.doubts == ("line 6: there is no T: line, so it has no name",)


def test_an_error_in_the_middle_leaves_the_rest():
    text = ONE.replace("Adfd|B2ed", "Ad^7fd|B2ed")
    (tune,) = read_book(text.encode()).tunes
    assert isinstance(tune, ReadTune)
    assert tune.doubts == ("line 7: could not read “^”", "line 7: could not read “7”")
    assert tune.starts[0].written == "d2fd Adfd|B2ed cABc|"


def test_many_errors_are_counted_not_listed():
    (tune,) = read_book(ONE.replace("d2fd", "d2^^^7^^^8fd").encode()).tunes
    assert isinstance(tune, ReadTune)
    assert len(tune.doubts) == 4
    assert tune.doubts[-1].endswith("more places could not be read")


@pytest.mark.parametrize(
    ("line", "doubt"),
    [("M:6", "M:6 is not a metre"), ("M:reel", "M:reel is not a metre"),
     ("L:8", "L:8 is not a note length"), ("L:", ""), ("Q:fast", "")],
)  # fmt: skip
def test_header_slips(read, line, doubt):
    tune = read(f"X:1\nT:One\n{line}\nK:D\nddff aaff|\n")
    assert tune.starts[0].notes
    assert bool(doubt) == any(doubt in told for told in tune.doubts if doubt)


def test_notes_before_the_key(read):
    tune = read("X:1\nT:One\nM:4/4\nL:1/8\nd2fd Adfd|d2fd Adfd|\n")
    assert "there is no K: line" in tune.doubts[0]
    assert tune.starts[0].notes


def test_hostile_text_is_cleaned(read):
    tune = read("X:1\nT:\x1b[31mRed\u202e [b]name[/b]\nT:" + "x" * 10_000 + "\nK:D\nddff aaff|\n")
    assert tune.titles[0] == "[31mRed [b]name[/b]"
    assert len(tune.titles[1]) <= 300
    assert "\x1b" not in "".join(tune.doubts)


@pytest.mark.parametrize("piece", ["[A:", '"a', "{a", "[ce", "!a", "(3", "A//", "a>", "[|", "a-"])
def test_a_very_long_line_is_one_tune_with_doubts_or_one_refusal(piece):
    (found,) = read_book(f"X:1\nT:One\nK:D\n{piece * 1_000}\n".encode()).tunes
    said = found.doubts if isinstance(found, ReadTune) else (found.why,)
    assert said
    assert all("\n" not in line and len(line) < 300 for line in said)


def test_read_one_gives_what_the_book_gave():
    for tune in read_book((ONE + "\n" + TWO).encode()).tunes:
        assert isinstance(tune, ReadTune)
        again = read_one(tune.abc)
        assert isinstance(again, ReadTune)
        assert (again.titles, again.starts) == (tune.titles, tune.starts)
    assert isinstance(read_one("nothing"), Refusal)
    assert isinstance(read_one(""), Refusal)


@given(st.binary(max_size=400) | st.text(max_size=400).map(str.encode))
def test_any_bytes_give_tunes_or_refusals(data):
    total, tunes, _ = read_book(data)
    found = list(tunes)
    assert len(found) == total > 0
    assert all(isinstance(tune, ReadTune | Refusal) for tune in found)


@given(st.lists(st.sampled_from(
    ["X:1", "T:One", "K:D", "K:", "M:6/8", "", "abc def|", "|:", ":|", "P:B", "%%x", "% c", "text",
     "[V:2]", "V:1", "w:la", "+:go", "L:1/4", "a>b (3cde|1 f:|2 g||", "[K:Em]", "\\", "[1", "z4"]),
    max_size=30))  # fmt: skip
def test_any_order_of_lines_gives_tunes_or_refusals(lines):
    result = read_book("\n".join(lines).encode())
    numbers = {place for place, line in enumerate(lines, 1) if line == "X:1"}
    assert numbers <= {tune.line for tune in result.tunes}
