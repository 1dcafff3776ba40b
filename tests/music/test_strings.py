import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.errors import NotDoneError
from tunememory.music.strings import NICKNAMES, STANDARD, Tuning, parse_tuning


@pytest.mark.parametrize(
    ("text", "strings"),
    [
        ("GDAE", (55, 62, 69, 76)),
        ("gdae", (55, 62, 69, 76)),
        ("G D A E", (55, 62, 69, 76)),
        ("G-D-A-E", (55, 62, 69, 76)),
        ("AEAE", (57, 64, 69, 76)),
        ("aeac#", (57, 64, 69, 73)),
        ("AEAC♯", (57, 64, 69, 73)),
        ("ADAE", (57, 62, 69, 76)),
        ("GDGD", (55, 62, 67, 74)),
        ("GDAD", (55, 62, 69, 74)),
        ("DDAD", (50, 62, 69, 74)),
        ("gdgb", (55, 62, 67, 71)),
        ("FCGD", (53, 60, 67, 74)),
        ("EDAE", (52, 62, 69, 76)),
        ("AEAD", (57, 64, 69, 74)),
        ("EEAE", (52, 64, 69, 76)),
        ("BbFCG", (58, 65, 72, 79)),
        ("CGDAE", (48, 55, 62, 69, 76)),
        ("gDGBD", (67, 50, 55, 59, 62)),
        ("gDGCD", (67, 50, 55, 60, 62)),
        ("gCGCD", (67, 48, 55, 60, 62)),
        ("aEAC#E", (69, 52, 57, 61, 64)),
        ("aDF#AD", (69, 50, 54, 57, 62)),
        ("G2 D3 A3 D4", (43, 50, 57, 62)),
        ("g2d3a3e4", (43, 50, 57, 64)),
        ("D3", (50,)),
        ("E4 E4 A4 E5", (64, 64, 69, 76)),
    ],
)
def test_strings_are_read(text, strings):
    """Octaves of the fiddle tunings: two published lists; banjo: common practice, no source."""
    assert parse_tuning(text).strings == strings


@pytest.mark.parametrize(
    ("text", "letters"),
    [
        ("standard", "GDAE"),
        ("Cross A", "AEAE"),
        ("cross A tuning", "AEAE"),
        ("high bass, high counter", "AEAE"),
        ("sawmill", "GDGD"),
        ("old-time D", "ADAE"),
        ("Dead Man's", "DDAD"),
        ("dead mans", "DDAD"),
        ("Black Mountain", "AEAC#"),
        ("Cajun", "FCGD"),
        ("gee-dad", "GDAD"),
    ],
)
def test_trade_names_are_read(text, letters):
    assert parse_tuning(text).letters == letters


@pytest.mark.parametrize(("strings", "name"), NICKNAMES.items())
def test_every_nickname_and_its_letters_read_back(strings, name):
    assert parse_tuning(name).strings == strings
    assert parse_tuning(Tuning(strings).letters).strings == strings
    assert Tuning(strings).nickname == name


@pytest.mark.parametrize(
    "text",
    ["", "GDA", "QDAE", "GDAEX", "GDAE GDAE", "cross", "[bold]", "G22 D", "b" * 5_000, "C1" * 9],
)
def test_what_is_not_a_tuning_gets_one_line(text):
    with pytest.raises(
        NotDoneError, match="is not a tuning: write the strings low to high"
    ) as told:
        parse_tuning(text)
    assert "\n" not in str(told.value)


@given(st.lists(st.integers(12, 127), min_size=1, max_size=8).map(tuple))
def test_letters_read_back_as_the_same_tuning(strings):
    tuning = Tuning(strings)
    assert parse_tuning(tuning.letters) == tuning


@given(st.lists(st.integers(12, 127), min_size=1, max_size=8).map(tuple))
def test_string_names_differ_and_the_plain_letter_is_the_highest(strings):
    names = Tuning(strings).string_names
    assert len(set(names)) == len(strings)
    for name, pitch in zip(names, strings, strict=True):
        higher = [p for n, p in zip(names, strings, strict=True) if n.strip(",") == name.strip(",")]
        assert pitch == sorted(higher, reverse=True)[name.count(",")]


def test_string_names_of_the_usual_tunings():
    assert STANDARD.string_names == ("G", "D", "A", "E")
    assert parse_tuning("AEAE").string_names == ("A,", "E,", "A", "E")
    assert parse_tuning("AEAE").long_string_names == ("low A", "low E", "high A", "high E")
    assert parse_tuning("DDAD").long_string_names == ("low D", "middle D", "A", "high D")
    assert STANDARD.long_string_names == ("G", "D", "A", "E")
    assert Tuning((40, 52, 64, 76)).long_string_names[0] == "E,,,"
