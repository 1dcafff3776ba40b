"""What is said beside a level in a round line by line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tunememory.recall.check import Check, Level
from tunememory.store.repertoire import Repertoire

Say = Callable[..., Any]


@pytest.fixture
def asked(say: Say, own: Path) -> Callable[[str], tuple[str, list[Check], dict[str, str]]]:
    """Adds a reel and a jig, and answers the prompt of the reel: what was said, and is kept."""
    say("add", "The First", "--key", "D", "--kind", "reel", "--a", "d2fd Adfa", "--b", "gfge dcBA")
    say("add", "Second Tune", "--key", "G", "--kind", "jig", "--a", "G3 GAB")

    def answer(typed: str) -> tuple[str, list[Check], dict[str, str]]:
        said = say("round", "--plain", "--only", "reel", typed=typed)
        assert said.code == 0
        with Repertoire.open(own, create=False) as repertoire:
            titles = {tune.uuid: tune.title for tune in repertoire.tunes.all()}
            return said.out, list(repertoire.checks.all()), titles

    return answer


def test_a_strand_may_have_a_level_of_its_own(asked):
    _, (check,), _ = asked("\n4 b1\n")
    assert 0 <= check.seconds < 60
    levels = dict(check.levels)
    assert {"key", "A"} < levels.keys()
    assert levels.pop("B") is Level.SIT_OUT
    assert set(levels.values()) == {Level.KICK_OFF}
    assert (check.wrong_key, check.strayed_into) == (False, "")


def test_every_strand_by_itself_needs_no_level_for_the_rest(asked):
    said, (check,), _ = asked("\nk4 a3\nk2 a3 b1\n")
    assert "Give a level from 1 to 4 too." in said
    assert dict(check.levels) == {"key": Level.JOIN_IN, "A": Level.FIND, "B": Level.SIT_OUT}


def test_a_wrong_key_and_the_tune_strayed_into_are_kept(asked):
    _, (check,), titles = asked("\n2 w x second\n")
    assert check.wrong_key
    assert titles[check.strayed_into] == "Second Tune"
    assert {level for _, level in check.levels} == {Level.JOIN_IN}


def test_the_seconds_of_somebody_who_went_away_are_not_kept(asked, monkeypatch):
    monkeypatch.setattr("tunememory.cli.rounds._seconds_since", lambda began: 600.0)
    said, (check,), _ = asked("\n\n4\n")
    assert check.seconds is None
    assert "(Enter:" not in said


def test_enter_takes_the_level_that_the_clock_suggests(asked, monkeypatch):
    monkeypatch.setattr("tunememory.cli.rounds._seconds_since", lambda began: 7.0)
    said, (check,), _ = asked("\n\n")
    assert "1 would sit it out (Enter: 3)" in said
    assert {level for _, level in check.levels} == {Level.FIND}


def test_hints_come_in_the_steps_of_the_screen(asked):
    said, (check,), _ = asked("h\nh\nh\nh\n2\n")
    assert "> D major\n> d\n> d f d\n> The First" in said
    assert check.hints == 4


@pytest.mark.parametrize(
    ("typed", "says"),
    [("\nz3\n", "“z3” cannot be read here"), ("\nnonsense\n", "“nonsense” cannot be read here"),
     ("\n3 x nowhere\n", "no tune called “nowhere”"), ("\nw\n", "Give a level from 1 to 4 too."),
     ("h\n\n3\n", "A hint was shown: give 2 or less."), ("h\n\n2 a4\n", "give 2 or less.")],
)  # fmt: skip
def test_what_cannot_be_taken_is_said_and_asked_again(asked, typed, says):
    said, checks, _ = asked(typed)
    assert says in said
    assert checks == []
    assert said.rstrip().endswith("0 asked.")
