"""fading --how-well, forecast and fit."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tunememory.clock import fixed_clock
from tunememory.demo import make_demo
from tunememory.store.repertoire import Repertoire

Say = Callable[..., Any]


@pytest.fixture
def saltpan(own: Path) -> Path:
    """The Saltpan Hall repertoire with its history."""
    make_demo(own, fixed_clock(datetime(2026, 11, 24, 19, 30, tzinfo=UTC)), learned=False)
    return own


def test_how_well_without_checks(say: Say) -> None:
    say("add", "Gan", "Ainm")
    said = say("fading", "--how-well")
    assert said.code == 0
    assert "No cold check yet" in said.out
    found = json.loads(say("fading", "--how-well", "--json").out)
    assert (found["checks"], found["steps"], found["enough"]) == (0, [], False)


def test_a_fading_table_is_still_what_fading_prints(say: Say) -> None:
    say("add", "Gan", "Ainm")
    assert say("fading").out == "Nothing is fading.\n"


def test_how_well_with_a_history(say: Say, saltpan: Path) -> None:
    said = say("fading", "--how-well")
    assert said.code == 0
    assert "level you give yourself" in said.out
    assert "always the average" in said.out
    found = json.loads(say("fading", "--how-well", "--json").out)
    assert set(found) == {"steps", "checks", "needed", "said", "came", "leaning", "log_loss",
                          "brier", "average_log_loss", "average_brier", "own_since",
                          "enough"}  # fmt: skip
    assert set(found["steps"][0]) == {"begin", "levels", "checks", "said", "came", "low", "high",
                                      "enough"}  # fmt: skip
    rows = [line for line in said.out.splitlines() if " to " in line]
    assert len(rows) == len(found["steps"])
    assert rows[0].split()[0] == f"{100 * found['steps'][-1]['said']:.0f}"


def test_a_fit_is_used_and_undone(say: Say, saltpan: Path) -> None:
    tried = json.loads(say("fit", "--json").out)
    assert tried["taken"] is True
    assert tried["won"] > 0
    assert say("fit", "--if-due").out == ""  # just tried
    undone = say("fit", "--undo")
    assert undone.out == "in use: the starting values\n"
    assert say("fit", "--undo").code == 0
    again = say("fit")
    assert "foretold better" in again.out
    assert "in use: fitted on 2026-11-24" in again.out
    assert say("verify").code == 0


def test_too_few_checks_to_fit(say: Say) -> None:
    say("add", "Gan", "Ainm")
    said = say("fit")
    assert (said.code, said.out) == (1, "")
    assert "too few" in said.err
    assert said.err.count("\n") == 1
    assert say("fit", "--if-due").code == 0


def test_a_forecast_in_words_and_for_programs(say: Say) -> None:
    for name in ("Gan", "Ainm", "Saltpan"):
        say("add", name, "--key", "D", "--a", "A2 FA")
    said = say("forecast", "--minutes", "1")
    assert said.code == 0
    assert "Of 3 tunes" in said.out
    assert "Taken for granted: 1 minutes" not in said.out
    assert "Taken for granted: 1 minute of cold checks every day" in said.out
    found = json.loads(say("forecast", "--minutes", "1", "--tunes", "5", "--new-per-month", "1",
                           "--json").out)  # fmt: skip
    assert set(found) == {"minutes", "checks", "days", "new_a_month", "points", "more_minutes",
                          "more", "borne", "most_new"}  # fmt: skip
    assert set(found["points"][0]) == {"day", "tunes", "low", "middle", "high", "sure"}
    assert [found["points"][k]["tunes"] for k in (0, -1)] == [5, 17]


@pytest.mark.parametrize(
    ("arguments", "code"),
    [(("--minutes", "0"), 1), (("--minutes", "x"), 2), (("--tunes", "0"), 1),
     (("--new-per-month", "-1"), 1), (("--minutes", "nan"), 1)],
)  # fmt: skip
def test_a_forecast_of_what_cannot_be(say: Say, arguments: tuple[str, ...], code: int) -> None:
    say("add", "Gan", "Ainm")
    said = say("forecast", *arguments)
    assert said.code == code
    assert said.out == ""
    assert said.err


def test_a_forecast_without_tunes(say: Say, own: Path) -> None:
    Repertoire.open(own).close()
    said = say("forecast")
    assert (said.code, said.out) == (1, "")
    assert "add one first" in said.err


@pytest.mark.parametrize(
    ("option", "typed", "says"),
    [("--minutes", "few", "give a number, not 'few'"),
     ("--new-per-month", "x", "give a number, not 'x'"),
     ("--tunes", "1.5", "give a whole number, not '1.5'")],
)  # fmt: skip
def test_what_is_no_number_is_said_in_plain_words(
    say: Say, option: str, typed: str, says: str
) -> None:
    said = say("forecast", option, typed)
    assert said.code == 2
    assert says in said.err
