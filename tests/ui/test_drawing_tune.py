from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tunememory.library.overview import CheckView, TuneView
from tunememory.library.twins import Twin
from tunememory.music.key import Key
from tunememory.music.strings import Tuning
from tunememory.music.tune import Tune
from tunememory.recall.chances import StrandView
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.recall.state import Chance, State
from tunememory.ui.library import drawing as draw
from tunememory.ui.text import wrapped

TODAY = date(2026, 11, 24)
NOON = datetime(2026, 11, 24, 12, tzinfo=UTC)


TUNE = Tune("u", ("One", "Two"), "reel", Key("A", "mixolydian"), "C|", Tuning((57, 64, 69, 76)))


def check(day, *levels, hints=0, seconds=None):
    given = tuple((strand, Level(level)) for strand, level in levels)
    return CheckView(Check("c", "u", NOON, day, RoundKind.FIRST, Prompt.HOW, given, seconds, hints))


def view(**changes):
    facts: dict[str, Any] = {
        "tune": TUNE,
        "chance": Chance(0.6, 0.4, 0.8, State.FADING), "strands": (), "starts": (), "twins": (),
        "history": (), "curve": (),
    }  # fmt: skip
    return TuneView(**(facts | changes))


def text(lines):
    return ["".join(piece for piece, _ in line) for line in lines]


def test_facts():
    assert text(draw.facts_lines(view(), 60)) == [
        "reel · A mixolydian · C| · AEAE cross A · kept", "also Two",
    ]  # fmt: skip


def test_a_strand_never_asked_says_so():
    strands = (
        StrandView("key", Chance(0.93, 0.8, 0.99, State.SAFE)),
        StrandView("name", Chance(0.3, 0.1, 0.6, State.SAFE)),
    )
    seen = view(strands=strands, history=(check(date(2026, 11, 20), ("key", 4)),))
    key, name = text(draw.strands_lines(seen, 76, TODAY))
    assert "about 9 in 10" in key
    assert "4 days ago" in key
    assert "●" in key
    assert "about 3 in 10" in name
    assert "not asked yet" in name
    assert "○" in name


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1), st.integers(11, 60))
def test_the_bar_is_as_wide_as_asked_and_the_note_within_its_range(a, b, c, width):
    low, middle, high = sorted((a, b, c))
    bar = "".join(
        t for t, _ in draw.bar_spans(Chance(middle, low, high, State.SAFE), width, "safe")
    )
    assert len(bar) == width
    drawn = [x for x, sign in enumerate(bar) if sign in "━●"]
    assert drawn == list(range(drawn[0], drawn[-1] + 1))
    assert bar.count("●") == 1


def test_twins_say_where_they_part():
    twins = (
        Twin("x", "[/] Glen", "A", "A", 5, 0.0),
        Twin("y", "Hill", "A", "B", 4, 0.0),
        Twin("z", "Bog", "A", "A", 1, 0.0),
    )
    assert text(draw.twins_lines(view(twins=twins), 76)) == [
        "Don't mix with [/] Glen (A start): they part at note 5.",
        "Don't mix with Hill (A start, its B start): they part at note 4.",
        "Don't mix with Bog (A start): alike after the first note.",
    ]


@pytest.mark.parametrize(
    ("given_check", "words"),
    [
        (check(TODAY, ("key", 3), ("A", 3)), "would find it"),
        (
            check(TODAY, ("key", 4), ("A", 2), ("B", 4)),
            "key, B: would kick it off; A: would join in",
        ),
        (check(TODAY, ("name", 2)), "with a nudge"),
        (check(TODAY, ("A", 2), hints=1), "would join in, after 1 hint"),
        (check(TODAY, ("A", 4), seconds=2.2), "would kick it off, 2\N{NO-BREAK SPACE}s"),
    ],
)
def test_what_came_is_said_in_the_words_of_the_levels(given_check, words):
    assert text(draw.history_lines((given_check,), 76, TODAY)) == ["today          " + words]


def test_only_the_newest_checks_are_shown():
    many = (check(TODAY, ("A", 4)),) * 50
    assert len(draw.history_lines(many, 76, TODAY)) == draw.MOST_CHECKS


@given(st.text(max_size=200), st.integers(8, 90), st.integers(0, 6))
def test_wrapped_lines_keep_to_the_width(words, width, indent):
    for line in text(wrapped(words, width, "", indent)):
        assert cell_len(line) <= max(width, 8 + indent)


def test_wrapping_loses_no_word():
    words = "a long line of words " * 20
    assert " ".join(" ".join(text(wrapped(words, 17, ""))).split()) == words.strip()


def test_easy_drones_are_told_where_a_start_is_written_down(asked_of):
    drones = "open G under D"
    told = text(draw.facts_lines(view(drones=drones, starts=asked_of().starts), 60))
    assert told[-1] == "easy drones: open G under D"
    assert drones not in " ".join(text(draw.facts_lines(view(drones=drones), 60)))
