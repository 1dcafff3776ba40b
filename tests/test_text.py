import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tunememory.text import TITLE_LIMIT, cells, clean_text, fold, fold_title

HOSTILE = st.text(
    alphabet=st.one_of(
        st.characters(),
        st.sampled_from("\x1b\x00\x9b\r\n\t\u2028\u2029\u202e\u2066\ufeff\u200b\u200d\u0301e  "),
        st.characters(categories=("Mn", "Cf", "Zs", "Cs")),
    ),
    max_size=400,
)


@given(HOSTILE, st.booleans(), st.integers(1, 60))
def test_cleaning_twice_changes_nothing(text, multiline, limit):
    once = clean_text(text, multiline=multiline, limit=limit)
    assert clean_text(once, multiline=multiline, limit=limit) == once


@given(HOSTILE, st.booleans(), st.integers(1, 60))
def test_nothing_that_moves_the_cursor_or_turns_text_round_comes_through(text, multiline, limit):
    cleaned = clean_text(text, multiline=multiline, limit=limit)
    assert len(cleaned) <= limit
    allowed = {"\n"} if multiline else set()
    for character in cleaned:
        assert unicodedata.category(character) not in {"Cc", "Cs", "Cn"} or character in allowed
        assert unicodedata.bidirectional(character) not in {
            "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"
        }  # fmt: skip
        assert character not in "\u2028\u2029\ufeff\u200b"
    assert unicodedata.is_normalized("NFC", cleaned)
    assert cleaned == cleaned.rstrip()


@given(HOSTILE)
def test_a_title_is_one_line_with_single_blanks(text):
    cleaned = clean_text(text)
    assert "\n" not in cleaned
    assert "  " not in cleaned
    assert not cleaned.startswith(" ")


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("  The\tFirst \r\n House ", "The First House"),
        ("\x1b[31mred\x1b[0m", "[31mred[0m"),
        ("[bold]x[/bold]", "[bold]x[/bold]"),
        ("Ta\u0301", "Tá"),
        ("a\u202eb", "ab"),
        ("\ud800x", "x"),
        ("", ""),
        ("\x00\x01", ""),
        # A joiner holds an emoji or an Indic cluster together and is no control.
        ("क\u200dष", "क\u200dष"),
    ],
)
def test_cleaned_titles(given, wanted):
    assert clean_text(given) == wanted


def test_a_long_title_is_cut_with_an_ellipsis():
    cleaned = clean_text("x" * 10_000)
    assert len(cleaned) == TITLE_LIMIT
    assert cleaned == "x" * (TITLE_LIMIT - 1) + "…"


def test_blanks_in_front_do_not_push_the_title_out():
    assert clean_text(" " * 5_000 + "Reel") == "Reel"
    assert clean_text("Reel" + " " * 5_000) == "Reel"


def test_what_the_first_cut_drops_is_marked():
    assert clean_text("Reel" + "\x00" * 5_000 + "of the end") == "Reel…"


def test_lines_are_kept_where_asked_for():
    assert clean_text("one \r\n  two\rthree\n\n", multiline=True) == "one\n  two\nthree"


@given(HOSTILE)
def test_folding_twice_changes_nothing(text):
    assert fold(fold(text)) == fold(text)


@given(HOSTILE)
def test_folded_text_has_no_case_no_accents_no_signs(text):
    folded = fold(text)
    assert folded == folded.casefold()
    assert all(character.isalnum() or character == " " for character in folded)
    assert not any(unicodedata.combining(character) for character in folded)


@given(st.text(alphabet=st.characters(categories=("Lu", "Ll"), max_codepoint=0x24F), max_size=20))
def test_case_does_not_matter(text):
    assert fold(text.lower()) == fold(text) == fold(text.upper())


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("Tá an Lá", "ta an la"),
        ("O’Neill's", "oneills"),
        ("Strasse Straße", "strasse strasse"),
        ("Bjørn þór Æsir", "bjorn thor aesir"),
        ("ǿ", "o"),
        ("ℋornpipe №2", "hornpipe no2"),
        ("off-she-goes", "off she goes"),
        ("İstanbul", "istanbul"),
        ("???", ""),
    ],
)
def test_folded_words(given, wanted):
    assert fold(given) == wanted


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("The First House", "first house"),
        ("First House, The", "first house"),
        ("An Lá", "la"),
        ("The", "the"),
        # Without the comma the last word is part of the name.
        ("Give Me the Die", "give me the die"),
    ],
)
def test_articles_are_left_out_of_folded_titles(given, wanted):
    assert fold_title(given) == wanted


@pytest.mark.parametrize(
    ("text", "wide"),
    [("", 0), ("Tá an Lá", 8), ("鯨の歌", 6), ("ｆｕｌｌ", 8), ("a\u0301q\u0323", 2), ("Жук", 3),
     ("한국", 4), ("½ step", 6)],
)  # fmt: skip
def test_columns_of_text(text, wide):
    assert cells(text) == wide == cell_len(text)
