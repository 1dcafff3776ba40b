from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.two_tunes import JIG, REEL
from tunememory.cli import main
from tunememory.clock import system_clock
from tunememory.music.tune import DECLARED_WORDS, declared_by
from tunememory.session import open_session

Say = Callable[..., Any]


def test_a_name_is_enough_and_a_table_shows_it(say: Say) -> None:
    assert say("add", "Gan", "Ainm").code == 0
    shown = say("show", "gan")
    assert shown.code == 0
    assert shown.out.startswith("Gan Ainm")


@pytest.mark.parametrize("word", list(DECLARED_WORDS.values()))
def test_how_well_a_tune_is_known_is_typed_in_the_words_of_the_form(
    say: Say, own: Path, tmp_path: Path, word: str
) -> None:
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:Garryowen\nM:6/8\nL:1/8\nK:G\ndcB AGF|\n")
    assert say("add", "The Saltpan Reel", "--known", word).code == 0
    assert say("import", str(book), "--known", word).code == 0
    with open_session(own, system_clock()) as session:
        assert {tune.declared for tune in session.tunes.values()} == {declared_by(word)}
        assert len(session.tunes) == 2


@pytest.mark.parametrize(
    "words", ["sal", "the saltpan", "SALTPAN", "saltpna", "estuary", "reel est"]
)
def test_names_are_found_by_any_word_and_with_a_slip(say: Say, words: str) -> None:
    say(*REEL)
    say(*JIG)
    assert "Saltpan" in say("show", words).out


def test_what_is_not_there_is_said_in_one_line(say: Say) -> None:
    say(*REEL)
    shown = say("show", "copperplate")
    assert (shown.code, shown.out) == (1, "")
    assert shown.err.count("\n") == 1


def test_json_keys_of_every_table(say: Say) -> None:
    say(*REEL)
    say(*JIG)
    today = json.loads(say("today", "--json").out)
    assert set(today) == {"day", "tuning", "minutes", "note", "checks"}
    assert today["day"] == "2026-11-24"
    assert {frozenset(check) for check in today["checks"]} == {
        frozenset({"tune", "title", "prompt", "strands", "chance"})
    }
    fading = json.loads(say("fading", "--json", "--all").out)
    assert set(fading[0]) == {"tune", "title", "key", "strand", "chance", "low", "high", "state",
                              "last_checked"}  # fmt: skip
    assert all(row["low"] <= row["chance"] <= row["high"] for row in fading)
    (shown,) = json.loads(say("show", "hall", "--json").out)
    assert set(shown) == {"tune", "titles", "kind", "key", "tuning", "status", "starts", "twins",
                          "chance"}  # fmt: skip
    assert shown["tuning"] == "AEAE"
    assert set(shown["starts"][0]) == {"part", "letters", "fingers", "bars_begin_at", "key",
                                        "doubt"}  # fmt: skip
    found = json.loads(say("find", "A F A D A F A B", "--json").out)
    assert set(found[0]) == {"tune", "title", "part", "distance"}
    assert found[0]["title"] == "The Saltpan Reel"


def test_a_check_at_the_jam_is_noted(say: Say) -> None:
    say(*REEL)
    noted = say("check", "saltpan", "3", "--at", "yesterday 21:30")
    assert noted.code == 0
    assert re.fullmatch(
        r"noted  The Saltpan Reel  would find it  key, (?:[a-z]+, )*A, B\n"
        r"  was about \d in 10, tomorrow about \d, in a week about \d\.\n",
        noted.out,
    )
    assert say("check", "saltpan", "1", "--strand", "name", "--at", "yesterday 21:31").code == 0
    (row,) = json.loads(say("fading", "--json", "--all").out)
    assert row["strand"] == "name"
    assert row["last_checked"].startswith("2026-11-23T21:31")
    assert say("check", "saltpan", "4").code == 0
    (row,) = json.loads(say("fading", "--json", "--all").out)
    assert row["last_checked"].startswith("2026-11-24T19:30")
    assert say("verify").code == 0


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("check", "saltpan", "5"), 2, "not a level"),
        (("check", "saltpan", "zero"), 2, "not a level"),
        (("check", "copperplate", "3"), 1, "no tune called"),
        (("check", "saltpan", "3", "--strand", "D"), 1, "no strand D"),
        (("check", "saltpan", "3", "--at", "2027-01-01T10:00"), 1, "future"),
        (("check", "saltpan", "3", "--at", "half past"), 2, "not a time"),
        (("add", "x", "--key", "H"), 1, "not a key"),
        (("add", "x", "--key", "D", "--a", "D2 Q"), 1, "A start"),
        (("add", "  "), 1, "needs a name"),
        (("today", "--tuning", "what"), 1, "what"),
        (("import", "nowhere.abc"), 1, "no such file"),
        (("export", "tunes.txt"), 2, ".abc, .csv or .musicxml"),
        (("find", "D F"), 1, "notes"),
        (("no-such-command",), 2, "invalid choice"),
        (("today", "--minutes", "nan"), 2, "minutes"),
        (("today", "--minutes", "1e400"), 2, "minutes"),
        (("round", "--plain", "--minutes", "-1"), 2, "minutes"),
        (("fading", "--days", "-5"), 2, "days"),
        (("--repertoire", "/nowhere/at/all.tunes", "today"), 2, "no such folder"),
        (("--now", "noon", "today"), 2, "not a time"),
    ],
)
def test_wrong_input_gives_one_clear_line(
    say: Say, arguments: tuple[str, ...], code: int, says: str
) -> None:
    say(*REEL)
    said = say(*arguments)
    assert (said.code, says in said.err) == (code, True), said.err
    if code == 1:
        assert said.err.count("\n") == 1
    assert json.loads(say("fading", "--json", "--all").out)[0]["last_checked"] is None


def test_several_tunes_of_a_name_are_named_not_guessed(say: Say) -> None:
    say("add", "Hall Jig", "--key", "D")
    second = say("add", "The Hall Jig", "--key", "G")
    assert "already" in second.out
    said = say("check", "hall jig", "3")
    assert said.code == 1
    assert "(D)" in said.err
    assert "(G)" in said.err


def test_import_says_what_came_of_it(say: Say, tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:One\nM:6/8\nK:D\ndfa afd|gbg faf|\n\nX:2\nT:No key\nABc d2 e|\n")
    first = json.loads(say("import", str(book), str(tmp_path / "none.abc"), "--json").out)
    assert set(first) == {"taken", "unchanged", "changed", "doubtful", "refused"}
    assert first["taken"] == 2
    assert set(first["refused"][0]) == {"file", "line", "why"}
    again = say("import", str(book))
    assert again.code == 0
    assert "0 taken  2 unchanged  0 changed" in again.out


def test_export_and_import_are_the_same_repertoire(say: Say, tmp_path: Path) -> None:
    say(*REEL)
    say(*JIG)
    out = tmp_path / "out.abc"
    assert say("export", str(out)).code == 0
    other = str(tmp_path / "other.tunes")
    assert say("--repertoire", other, "import", str(out)).code == 0
    assert say("--repertoire", other, "export", "-", "--as", "abc").out == out.read_text()
    table = list(csv.DictReader(say("export", "-", "--as", "csv").out.splitlines()))
    assert {row["title"] for row in table} == {"The Saltpan Reel", "Hall Jig"}


def test_one_tune_goes_out_as_musicxml_and_comes_back(say: Say, tmp_path: Path) -> None:
    say(*REEL)
    score = tmp_path / "reel.musicxml"
    assert say("export", str(score)).code == 2
    assert say("export", str(score), "--tune", "saltpan").code == 0
    other = str(tmp_path / "other.tunes")
    assert "1 taken" in say("--repertoire", other, "import", str(score)).out
    (tune,) = json.loads(say("--repertoire", other, "show", "saltpan", "--json").out)
    (own,) = json.loads(say("show", "saltpan", "--json").out)
    assert tune["key"] == own["key"]
    assert tune["starts"][0]["letters"] == own["starts"][0]["letters"]


def test_a_plain_round_is_asked_line_by_line(say: Say) -> None:
    say(*REEL)
    said = say("round", "--plain", typed="\n4\n")
    assert said.code == 0
    assert "How does it go?" in said.out
    assert "D major" in said.out
    assert re.search(
        r"about \d in 10, tomorrow (about|over) \d, in a week (about|over) \d\.$",
        said.out,
        re.MULTILINE,
    )
    assert "\x1b" not in said.out
    (row,) = json.loads(say("fading", "--json", "--all").out)
    assert row["last_checked"] is not None


def test_one_prompt_and_less_than_a_minute_are_said_as_such(say: Say) -> None:
    assert say(*JIG).code == 0
    assert "under a minute" in say("today").out
    assert "0 min" not in say("today").out
    said = say("round", "--plain", "--minutes", "1", typed="q\n").out
    assert "1 prompt" in said
    assert "1 prompts" not in said


def test_a_plain_round_caps_a_hinted_level_skips_undoes_and_stops(say: Say) -> None:
    say(*REEL)
    say("add", "Second", "--key", "G", "--a", "GABc")
    said = say("round", "--plain", typed="h\n\n4\n2\nu\n?\nt\nq\n")
    assert said.code == 0
    assert "2 would join in" in said.out
    assert "Taken back." in said.out
    assert json.loads(say("fading", "--json", "--all").out)[0]["last_checked"] is None


def test_a_plain_round_ends_with_its_input(say: Say) -> None:
    say(*REEL)
    assert say("round", "--plain", typed="").code == 0
    assert say("round", "--plain", typed="\n").code == 0


def test_rebuild_and_verify(say: Say) -> None:
    say(*REEL)
    say("check", "saltpan", "4")
    assert "0 differed" in say("rebuild").out
    assert "sound, 1 tunes, 1 checks" in say("verify").out


def test_verify_of_nothing_makes_nothing(say: Say, own: Path) -> None:
    said = say("verify")
    assert said.code == 1
    assert not own.exists()


def test_the_demo_has_a_history_that_ends_yesterday(say: Say, tmp_path: Path) -> None:
    kept = tmp_path / "saltpan.tunes"
    said = say("demo", "--no-screen", "--keep", str(kept))
    assert said.code == 0
    assert str(kept) in said.out
    rows = json.loads(say("--repertoire", str(kept), "fading", "--json", "--all").out)
    assert max(row["last_checked"] or "" for row in rows).startswith("2026-11-23")
    again = say("demo", "--no-screen", "--keep", str(kept))
    assert again.code == 1
    assert "there already" in again.err
    assert say("--repertoire", str(kept), "verify").code == 0


def test_a_throw_away_demo_is_thrown_away(say: Say) -> None:
    said = say("demo", "--no-screen")
    path = Path(said.out.splitlines()[0].split(": ", 1)[1])
    assert not path.exists()


def test_titles_are_printed_without_their_escape_codes(say: Say) -> None:
    say("add", "The [red]Humours\x1b[31m\x07", "--key", "D")
    assert say("show", "humours").out.startswith("The [red]Humours[31m  D major")


def test_a_file_that_is_not_ours_is_left_alone(say: Say, own: Path) -> None:
    own.write_bytes(b"dear box player, about Thursday\n" * 40)
    before = own.read_bytes()
    for command in (("today",), ("add", "x"), ("verify",), ("round", "--plain")):
        said = say(*command)
        assert said.code == 1
        assert said.err.count("\n") == 1
    assert own.read_bytes() == before


def test_without_a_terminal_the_screen_says_so(say: Say) -> None:
    said = say()
    assert said.code == 1
    assert "terminal" in said.err
    assert "\x1b" not in said.out + said.err


def test_help_and_version_end_well(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert main(["--help"]) == 0
    assert "tunememory" in capsys.readouterr().out
