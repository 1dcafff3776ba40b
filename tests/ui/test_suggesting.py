"""Completing titles in the middle of a line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.ui.widgets import LEAST_LETTERS, title_completed

TITLES = ("The Mason's Apron", "Off to California", "A Fig for a Kiss", "Off She Goes", "[/]")


@pytest.mark.parametrize(
    ("line", "whole"),
    [
        ("mas", "Mason's Apron"),
        ("the mas", "The Mason's Apron"),
        ("B part of off", "B part of Off to California"),
        ("B part of off s", "B part of Off She Goes"),
        ("fig", "Fig for a Kiss"),
        ("a fig for", "A Fig for a Kiss"),
        ("of", ""),
        ("", ""),
        ("nothing like it", ""),
        ("off to california", ""),
        ("off to california: bar 3", ""),
        ("then  off", "then  Off to California"),
    ],
)
def test_the_end_of_a_line_becomes_a_title(line, whole) -> None:
    assert title_completed(line, TITLES) == whole


def test_what_is_likelier_comes_first() -> None:
    assert title_completed("off", TITLES) == "Off to California"
    assert title_completed("off", TITLES[::-1]) == "Off She Goes"


@given(st.text(max_size=60), st.lists(st.text(max_size=30), max_size=5))
def test_of_what_is_typed_only_capitals_change(line, titles) -> None:
    whole = title_completed(line, titles)
    if whole:
        assert whole.casefold().startswith(line.casefold())
        assert len(whole) > len(line) >= LEAST_LETTERS
