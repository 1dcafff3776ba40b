"""The commands about whole files."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Say = Callable[..., Any]


@pytest.fixture
def tunes(say: Say) -> Say:
    """A repertoire of two tunes."""
    for name, key in (("Saltpan Reel", "D"), ("Hall Jig", "Em")):
        say("add", name, "--key", key, "--a", "A2 FA DAFA | B2")
    return say


def test_a_copy_is_made_and_brought_back(tunes: Say, own: Path, tmp_path: Path) -> None:
    by_hand = tunes("backup")
    assert by_hand.code == 0
    copy = Path(by_hand.out.strip().removeprefix("copied to "))
    assert copy.parent == own.parent / "backups"
    named = tmp_path / "elsewhere.tunes"
    assert tunes("backup", str(named)).code == 0
    again = tunes("backup", str(named))
    assert (again.code, "there already" in again.err) == (1, True)
    tunes("add", "Third")
    assert str(copy) in tunes("restore").out.splitlines()[0]
    said = tunes("restore", str(named))
    assert said.code == 0
    assert "what was there is kept at" in said.out
    assert "2 tunes" in tunes("verify").out


def test_a_damaged_file_is_brought_back_without_being_opened(
    tunes: Say, own: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.tunes"
    tunes("backup", str(copy))
    own.write_bytes(b"spilt tea\n" * 500)
    assert tunes("verify").code == 1
    said = tunes("restore", str(copy))
    assert said.code == 0
    assert "unreadable" in said.out
    assert "2 tunes" in tunes("verify").out


def test_restoring_nothing_says_so(say: Say, tmp_path: Path) -> None:
    assert "There are no copies" in say("restore").out
    said = say("restore", str(tmp_path / "none.tunes"))
    assert said.code == 1
    assert said.err.count("\n") == 1


def test_two_copies_are_joined_with_their_days(tunes: Say, own: Path, tmp_path: Path) -> None:
    other = tmp_path / "laptop.tunes"
    tunes("backup", str(other))
    there = ("--repertoire", str(other))
    tunes(*there, "check", "saltpan", "3")
    tunes(*there, "log", "hall", "--way", "scale")
    tunes(*there, "sets", "add", "Low Tide", "saltpan", "hall")
    tunes(*there, "dates", "add", "+3d", "--title", "Dance")
    tunes("check", "hall", "4")
    merged = tunes("merge", str(other)).out
    assert merged == "taken in:  1 checks  1 practice entries  1 sets  1 dates\n"
    assert "nothing new" in tunes("merge", str(other)).out
    assert "2 tunes, 2 checks" in tunes("verify").out
    assert "0 differed" in tunes("rebuild").out
    said = tunes("merge", str(own))
    assert (said.code, "this file itself" in said.err) == (1, True)


def test_tunes_go_to_a_pupil_with_their_starts(tunes: Say, tmp_path: Path) -> None:
    pupil = tmp_path / "ada.tunes"
    refused = tunes("give", "saltpan", "--to", str(pupil))
    assert refused.code == 1
    assert not pupil.exists()
    assert tunes("give", "saltpan", "--to", str(pupil), "--new").out == "  given: Saltpan Reel\n"
    both = tunes("give", "saltpan", "hall jig", "--to", str(pupil)).out
    assert both == "  given: Hall Jig\n  was there already: Saltpan Reel\n"
    (shown,) = json.loads(tunes("--repertoire", str(pupil), "show", "saltpan", "--json").out)
    assert shown["status"] == "learning"
    assert shown["starts"][0]["letters"].startswith("A F A D")
    page = json.loads(tunes("--repertoire", str(pupil), "pupil", "--json").out)
    assert page == {"given": ["Hall Jig", "Saltpan Reel"], "can_start": [], "to_mend": [],
                    "later": []}  # fmt: skip
    slip = tmp_path / "ada.txt"
    wrote = tunes("--repertoire", str(pupil), "pupil", "--slip", str(slip))
    assert wrote.out == f"wrote 2 tunes to {slip}\n"
    printed = slip.read_text(encoding="utf-8")
    assert "Hall Jig" in printed
    assert "A  F  A  D" in printed
    assert tunes("--repertoire", str(pupil), "pupil", "--slip", str(tmp_path / "a.pdf")).code == 1
    nowhere = tunes("give", "hall", "--to", str(tmp_path / "no" / "x.tunes"), "--new")
    assert (nowhere.code, "no such folder" in nowhere.err) == (2, True)


def test_what_several_can_start(tunes: Say, own: Path, tmp_path: Path) -> None:
    pupil = tmp_path / "ada.tunes"
    tunes("give", "saltpan", "hall", "--to", str(pupil), "--new")
    for name in ("saltpan", "hall"):
        tunes("check", name, "4")
    tunes("--repertoire", str(pupil), "check", "saltpan", "4")
    found = json.loads(tunes("share", str(own), str(pupil), "--json").out)
    assert found == {"all_can": ["Saltpan Reel"], "all_have": ["Hall Jig"]}
    assert tunes("share", str(own), str(pupil)).out.splitlines()[0] == "  Saltpan Reel"
    who = tunes("share", str(own), str(pupil), "--who")
    assert who.out.splitlines()[1].split() == ["Saltpan", "Reel", "●", "●"]
    assert json.loads(tunes("share", str(own), str(pupil), "--who", "--json").out)["rows"][1] == [
        "Hall Jig", [True, False],
    ]  # fmt: skip
    alone = tunes("share", str(own))
    assert (alone.code, "at least two" in alone.err) == (2, True)
    one = tunes("share", str(pupil), "--who")
    assert one.code == 0
    assert [line.split() for line in one.out.splitlines()[1:3]] == [
        ["Saltpan", "Reel", "●"], ["Hall", "Jig", "○"],
    ]  # fmt: skip
    missing = tunes("share", str(own), str(tmp_path / "none.tunes"))
    assert (missing.code, "none.tunes" in missing.err) == (1, True)


@pytest.mark.parametrize("command", [("merge", "x.tunes"), ("backup",), ("give", "x", "--to", "y"),
                                     ("pupil",)])  # fmt: skip
def test_nothing_is_made_where_there_is_nothing(say: Say, own: Path, command: tuple[str]) -> None:
    said = say(*command)
    assert said.code == 1
    assert said.err.count("\n") == 1
    assert not own.exists()
