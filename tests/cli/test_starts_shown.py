"""Starts as commands show them: letters, bar lines, fingers, codes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.two_tunes import REEL
from tunememory.clock import system_clock
from tunememory.session import open_session

Say = Callable[..., Any]


def test_show_gives_each_start_in_letters_with_their_fingers_beneath(say: Say) -> None:
    say(*REEL)
    lines = say("show", "est").out.splitlines()
    assert "The Saltpan Reel" in lines[0]
    assert "D major" in lines[0]
    assert "GDAE" in lines[0]
    assert lines[1:] == [
        "  A  A  F  A  D  A  F  A  | B",
        "     A0 D2 D4 D0 D4 D2 A0 | A1",
        "  B  f  d  f  a  f  d  f",
        "     E1 A3 E1 E3 E1 A3 E1",
    ]


def test_show_breaks_a_long_start_at_a_bar_line(say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    say("add", "Long", "--key", "D", "--metre", "C|", "--a", "A|d2 fd Adfa|gfed e2 cA")
    lines = say("show", "long").out.splitlines()[1:]
    assert max(map(len, lines)) <= 40
    assert [line[5:].replace(" ", "") for line in lines] == [
        "A|dfdAdfa",
        "A0|A3E1A3A0A3E1E3",
        "|gfedecA",
        "|EL2E1E0A3A4A2A0",
    ]


@pytest.mark.parametrize(
    ("kind", "typed", "metre", "shown"),
    [
        ("jig", "A|d2f a2f|g3", "6/8", "A  | d  f  a  f  | g"),
        ("Slip Jig", "A|d2f a2f gfe|f3", "9/8", "A  | d  f  a  f  g   f  e  | f"),
        ("reel", "letters: D | A B A F D E F G | A", "C|", "d  | A  B  A  F  D  E  F  G  | A"),
        # A march may be in any; without a metre there are no bars, and that is told.
        ("march", "A|d2f a2f|g3", "", "A  d  f  a  f  g"),
        ("", "A|d2f a2f|g3", "", "A  d  f  a  f  g"),
    ],
)
def test_a_kind_of_dance_gives_the_metre_that_was_not_typed(
    say: Say, own: Path, kind: str, typed: str, metre: str, shown: str
) -> None:
    added = say("add", "One", "--key", "D", "--kind", kind, "--a", typed).out
    assert added.splitlines()[1].strip() == f"A  {shown}"
    assert ("bar lines are not kept" in added) == (not metre)
    with open_session(own, system_clock()) as session:
        (tune,) = session.tunes.values()
        assert tune.metre == metre


def test_a_part_in_another_metre_has_its_own_bar_lines(say: Say) -> None:
    say("add", "Turns", "--key", "D", "--metre", "6/8", "--a", "A|d2f a2f|gfe",
        "--b", "[M:9/8]f|a2f a2f a2f|gfe")  # fmt: skip
    lines = say("show", "turns", "--plaine-easie").out.splitlines()
    assert [line[5:].replace(" ", "") for line in lines[1:] if "|" in line][::2] == [
        "A|dfaf|gfe",
        "f|afafaf|gfe",
    ]
    assert [line.split()[0] for line in lines if "%" in line] == ["%G-2$xFC@6/8", "%G-2$xFC@9/8"]


@pytest.mark.parametrize(
    "typed",
    [
        "[M:9/8]A|d2f a2f gfe|f3",
        "[K:D] [M:9/8] A|d2f a2f gfe|f3",
        "[M:9/8]letters: A | d - f a - f g f e | f",
        "[M:9/8]fingers: A0 | A3 - E1 E3 - E1 EL2 E1 E0 | E1",
    ],
)
def test_a_metre_in_front_counts_in_every_form(say: Say, typed: str) -> None:
    say("add", "Turns", "--key", "D", "--metre", "6/8", "--a", typed)
    (shown,) = json.loads(say("show", "turns", "--json").out)
    (start,) = shown["starts"]
    assert start["letters"] == "A d f a f g f e f"
    assert start["bars_begin_at"] == [2, 9]
    wrong = say("add", "Other", "--metre", "6/8", "--a", "[M:9/8]A|q")
    assert "“q” at place 10" in wrong.err


def test_show_says_what_a_start_has_of_its_own(say: Say) -> None:
    """Letters are meant in the part's own key, so that key is told."""
    say("add", "Turns", "--key", "D", "--metre", "C|", "--a", "A2FA DA F,,A", "--b", "[K:G] B2cd")
    lines = say("show", "turns").out.splitlines()
    assert lines[3].strip().startswith("? note 6 (^F,,) is below the lowest string")
    assert lines[-1].strip() == "this part is in G major"
    (shown,) = json.loads(say("show", "turns", "--json").out)
    one, other = shown["starts"]
    assert (one["key"], other["key"]) == ("", "G major")
    assert "below the lowest string" in one["doubt"]
    assert not other["doubt"]


def test_show_tells_other_programs_of_bars_and_twins(say: Say) -> None:
    """Notes are counted from 1, as where two tunes part."""
    say(*REEL)
    say("add", "Salt Road", "--key", "D", "--kind", "reel", "--metre", "C|",
        "--a", "A2 FA DAFA | d2")  # fmt: skip
    (shown,) = json.loads(say("show", "estuary", "--json").out)
    assert [start["bars_begin_at"] for start in shown["starts"]] == [[8], []]
    assert shown["twins"] == [{"part": "A", "title": "Salt Road", "other_part": "A", "parts_at": 8}]


def test_find_gives_key_and_first_notes_of_the_part_found(say: Say) -> None:
    say(*REEL)
    found = say("find", "f", "d", "f", "a", "f", "d")
    assert found.out == "  The Saltpan Reel  reel  D  B start  f d f a f d f\n"


def test_show_gives_each_start_in_plaine_and_easie_code(say: Say) -> None:
    """Plaine & Easie Code, version 2: clef, signature, time, then octave, length and name."""
    say(*REEL, "--c", "")
    lines = say("show", "est", "--plaine-easie").out.splitlines()
    assert [line.strip() for line in lines if "%" in line] == [
        "%G-2$xFC@c/ '4A8FADAFA/4B",
        "%G-2$xFC@c/ ''4F8DFAFDF/",
    ]
    (shown,) = json.loads(say("show", "est", "--plaine-easie", "--json").out)
    assert shown["starts"][1]["plaine_easie"] == "%G-2$xFC@c/ ''4F8DFAFDF/"
    wrong = say("show", "est", "--plaine-easie", "--play")
    assert (wrong.code, wrong.out) == (2, "")


def test_a_start_that_has_no_code_says_so(say: Say) -> None:
    say("add", "Odd", "--a", "A11/7 B")
    lines = say("show", "odd", "--plaine-easie").out.splitlines()
    assert lines[-1].strip() == "not to be had in Plaine & Easie code"
