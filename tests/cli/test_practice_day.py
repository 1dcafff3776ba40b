"""The commands of a practice day, of dates and sets, and of help on the spot."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Say = Callable[..., Any]

BOOK = """%abc-2.1
X:1
T:The Saltpan Reel
R:reel
M:C|
L:1/8
K:D
A2 FA DAFA|B2 dB AFDF:|
X:2
T:Hall Jig
R:jig
M:6/8
L:1/8
K:Em
EBB BAB|dBG AFD:|
X:3
T:Egret Reel
R:reel
M:C|
L:1/8
K:A
ceec fece|ABcd e2 ed:|
"""


@pytest.fixture
def tunes(say: Say, tmp_path: Path) -> Say:
    """A repertoire of three tunes."""
    book = tmp_path / "book.abc"
    book.write_text(BOOK)
    assert say("import", str(book)).code == 0
    return say


def test_practice_is_logged_and_stands_in_the_journal(tunes: Say, tmp_path: Path) -> None:
    logged = tunes("log", "saltpan", "--way", "scale", "--minutes", "4")
    assert (logged.code, logged.out) == (0, "noted  The Saltpan Reel  its scale  4 min\n")
    assert tunes("log", "hall", "--words", "slow", "--head", "--at", "yesterday 21:00").code == 0
    found = json.loads(tunes("journal", "--json").out)
    assert [day["day"] for day in found] == ["2026-11-24", "2026-11-23"]
    (entry,) = found[0]["entries"]
    assert set(entry) == {"uuid", "day", "at", "tune", "title", "way", "way_name", "words",
                          "minutes", "head_only", "played_at"}  # fmt: skip
    assert (entry["way"], entry["minutes"]) == ("scale", 4.0)
    assert found[1]["entries"][0]["head_only"]
    assert found[0]["minutes"] == {"instrument": 4.0, "head": 0.0, "rounds": 0.0}
    lines = tunes("journal").out.splitlines()
    assert lines[0] == "Tuesday 24 November 2026  4 min played"  # said as on the screen
    assert lines[1] == "  The Saltpan Reel  its scale  4 min"
    assert tunes("journal", "--days", "1").out.count("\n") == 2
    assert "slow" in tunes("journal", "--search", "slow").out
    table = tmp_path / "journal.csv"
    assert tunes("log", "hall", "--at", "2026-07-01 21:00").code == 0
    assert "2026-07" not in tunes("journal").out
    assert "2 days" in tunes("journal", "--days", "14", "--export", str(table)).out
    assert "3 days" in tunes("journal", "--export", str(table)).out
    assert len(list(csv.DictReader(table.read_text().splitlines()))) == 3
    assert tunes("verify").code == 0


def test_on_the_eve_of_a_date_practice_is_in_the_head_unless_told_otherwise(tunes: Say) -> None:
    assert "in the head" not in tunes("log", "hall").out
    tunes("dates", "add", "tomorrow", "--title", "Dance", "--tune", "hall")
    assert "in the head" in tunes("log", "hall").out
    assert "in the head" not in tunes("log", "hall", "--no-head").out


def test_the_line_to_the_next_time_is_read_again_tomorrow(tunes: Say) -> None:
    assert "No line yet" in tunes("pickup").out
    tunes("pickup", "B", "part:", "phrase", "3")
    assert tunes("pickup").out == "for next time: B part: phrase 3\n"
    later = tunes("--now", "2026-11-26T19:00+00:00", "pickup").out
    assert later == "Tuesday 24 November 2026: B part: phrase 3\n"


def test_what_was_heard_needs_no_name(tunes: Say) -> None:
    tunes("heard", "The", "Kid", "--from", "the box player")
    tunes("heard", "--like", "the Hall Jig, in D", "--note", "tape 41")
    rows = json.loads(tunes("heard", "--json").out)
    assert [row["name"] for row in rows] == ["", "The Kid"]
    assert set(rows[0]) == {"uuid", "day", "name", "from_whom", "alike", "note", "tune", "title"}
    assert "no name yet  like the Hall Jig, in D  tape 41" in tunes("heard").out


def test_dates_from_words_with_how_ready(tunes: Say) -> None:
    tunes("sets", "add", "Low Tide", "saltpan", "egret")
    wanted = ("--set", "low", "--tune", "hall", "--season", "3")
    when = "every Thursday except 24 December"
    added = tunes("dates", "add", when, "--title", "Kitchen", "--kind", "session", *wanted)
    assert added.code == 0
    assert "every Thursday except 24 December" in added.out
    (row,) = json.loads(tunes("dates", "--json").out)
    assert (row["on"], row["days"], row["wanted"], row["sets"]) == (
        "2026-11-26",
        2,
        3,
        ["Low Tide"],
    )
    shown = json.loads(tunes("dates", "show", "kitch", "--json").out)
    assert {tune["title"] for tune in shown["tunes"]} == {
        "The Saltpan Reel", "Hall Jig", "Egret Reel",
    }  # fmt: skip
    assert {tune["readiness"] for tune in shown["tunes"]} <= {
        "ready", "ready if the plan is kept", "not yet",
    }  # fmt: skip
    told = tunes("dates", "show", "kitch").out.splitlines()[2:]
    assert told[0] == "  now → on the day"
    for line, tune in zip(told[1:], shown["tunes"], strict=True):
        assert " → " in line
        assert tune["title"] in line
        assert line.endswith(f"  {tune['readiness']}")
    listed = tunes("dates").out
    assert listed.startswith("  in 2 days   Kitchen")
    assert tunes("dates", "remove", "kitchen").out == "taken out: Kitchen\n"
    assert json.loads(tunes("dates", "--json").out) == []


def test_of_a_date_only_what_is_given_changes(tunes: Say) -> None:
    tunes("sets", "add", "Low Tide", "saltpan", "egret")
    tunes("dates", "add", "every Thursday", "--title", "Kitchen", "--place", "by the stove",
          "--tune", "hall", "--set", "low", "--season", "3")  # fmt: skip
    assert "  sets: Low Tide" in tunes("dates", "show", "kitch").out.splitlines()
    edited = tunes("dates", "edit", "kitch", "--when", "every Friday", "--tune", "egret",
                   "--no-tune", "hall", "--no-set", "low", "--title", "Snug")  # fmt: skip
    assert edited.out.startswith("changed: in 3 days")
    (row,) = json.loads(tunes("dates", "--json").out)
    assert (row["title"], row["place"], row["when"]) == ("Snug", "by the stove", "every Friday")
    assert (row["sets"], row["wanted"]) == ([], 1)
    shown = json.loads(tunes("dates", "show", "snug", "--json").out)
    assert [tune["title"] for tune in shown["tunes"]] == ["Egret Reel"]
    assert tunes("dates", "edit", "snug", "--place", "", "--season", "0").code == 0
    (row,) = json.loads(tunes("dates", "--json").out)
    assert (row["place"], row["wanted"]) == ("", 1)
    for wrong, code in ((("snug",), 2), (("snug", "--when", "moon"), 1), (("x", "--kind", "y"), 1)):
        assert tunes("dates", "edit", *wrong).code == code


def test_of_a_set_the_name_or_the_tunes_change(tunes: Say) -> None:
    tunes("sets", "add", "Low Tide", "saltpan", "egret")
    assert "Spring Tide" in tunes("sets", "edit", "low", "--rename", "Spring Tide").out
    assert tunes("sets", "edit", "spring", "hall", "saltpan", "egret").code == 0
    (row,) = json.loads(tunes("sets", "--json").out)
    assert row["name"] == "Spring Tide"
    assert [tune["title"] for tune in row["tunes"]] == [
        "Hall Jig",
        "The Saltpan Reel",
        "Egret Reel",
    ]
    for wrong, code in ((("spring",), 2), (("spring", "hall"), 1), (("none", "hall", "egret"), 1)):
        assert tunes("sets", "edit", *wrong).code == code


def test_what_was_played_there(tunes: Say) -> None:
    tunes(
        "dates", "add", "every Thursday", "--title", "Kitchen", "--tune", "hall", "--tune", "egret"
    )
    friday = ("--now", "2026-11-27T10:00+00:00")
    assert "What was played at Kitchen on Thursday 26 November 2026?" in tunes(*friday, "dates").out
    assert "1 tune" in tunes(*friday, "dates", "played", "kitchen", "egret").out
    assert "What was played" not in tunes(*friday, "dates").out
    (day,) = json.loads(tunes(*friday, "journal", "--json").out)
    assert [entry["played_at"] for entry in day["entries"]] == ["Kitchen"]
    again = tunes(*friday, "dates", "played", "kitchen")
    assert (again.code, "--on" in again.err) == (1, True)
    other = tunes(*friday, "dates", "played", "kitchen", "--on", "2026-11-25")
    assert (other.code, other.err.count("\n")) == (1, 1)
    assert "does not fall on Wednesday 25 November 2026" in other.err
    assert "Thursday 26 November 2026" in other.err
    assert "2 tunes" in tunes(*friday, "dates", "played", "kitchen", "--on", "2026-11-26").out


def test_days_off_are_listed_and_taken_back(tunes: Say) -> None:
    tunes("dates", "off", "every Monday", "--note", "rest")
    tunes("dates", "off", "1 December to 4 December")
    assert [row["note"] for row in json.loads(tunes("dates", "off", "--json").out)] == ["rest", ""]
    assert tunes("dates", "off", "sunday", "--take-back").code == 1
    assert tunes("dates", "off", "monday", "--take-back").out == "taken back: every Monday\n"
    assert "December" in tunes("dates", "off").out


def test_sets_stand_as_their_weakest(tunes: Say) -> None:
    assert "No sets yet" in tunes("sets").out
    assert tunes("sets", "add", "Low Tide", "saltpan", "egret", "hall").code == 0
    (row,) = json.loads(tunes("sets", "--json").out)
    assert (row["ready"], len(row["joins"])) == (False, 2)
    assert set(row) == {"uuid", "name", "tunes", "joins", "chance", "ready", "weakest"}
    shown = tunes("sets", "show", "low tide").out.splitlines()
    assert len(shown) == 1 + 3 + 2
    assert shown[2] == "    into the next: not asked yet"
    assert tunes("sets", "remove", "tide").out == "taken apart: Low Tide\n"


def test_a_calendar_goes_out_and_comes_in(tunes: Say, tmp_path: Path) -> None:
    tunes("dates", "add", "second Saturday", "--title", "Barn dance, late", "--place", "The Hall")
    out = tmp_path / "dates.ics"
    assert tunes("ics", "out", str(out)).code == 0
    text = out.read_bytes().decode()
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert "SUMMARY:Barn dance\\, late\r\n" in text
    assert tunes("ics", "out", "-").out.splitlines()[0] == "BEGIN:VCALENDAR"
    assert "0 taken  0 changed  1 unchanged  0 left out" in tunes("ics", "in", str(out)).out
    other = ("--repertoire", str(tmp_path / "other.tunes"))
    assert "1 taken" in tunes(*other, "ics", "in", str(out)).out
    (row,) = json.loads(tunes(*other, "dates", "--json").out)
    assert (row["title"], row["place"]) == ("Barn dance, late", "The Hall")


def test_help_for_a_mind_gone_blank(tunes: Say) -> None:
    for name in ("saltpan", "hall", "egret"):
        tunes("check", name, "4", "--at", "19:00")
    tonight = json.loads(tunes("tonight", "--json").out)
    assert {one["title"] for one in tonight["start"]} == {
        "The Saltpan Reel", "Hall Jig", "Egret Reel",
    }  # fmt: skip
    assert tonight["keys"]["D"]["title"] == "The Saltpan Reel"
    jigs = json.loads(tunes("tonight", "--kind", "jig", "--json").out)
    assert [one["title"] for one in jigs["start"]] == ["Hall Jig"]
    assert json.loads(tunes("tonight", "--kind", "jig", "--json").out)["keys"].keys() == {"E"}
    assert "No polka to start in this tuning" in tunes("tonight", "--kind", "polka").out
    assert tunes("tonight", "--key", "A", "--kind", "jig").out == "No jig on that root.\n"
    assert tunes("tonight", "--key", "A", "--tuning", "AEAE").out == "No tune on that root.\n"
    (tuning,) = json.loads(tunes("tonight", "--key", "A", "--json").out).values()
    assert [one["title"] for one in tuning] == ["Egret Reel"]
    assert tunes("tonight", "--key", "A").out.splitlines()[0] == "GDAE"
    assert "E   Hall Jig  jig  Em" in tunes("tonight").out
    assert "No tune on that root" in tunes("tonight", "--key", "F").out


def test_a_card_as_text_and_as_a_page(tunes: Say, tmp_path: Path) -> None:
    assert "The Saltpan Reel (reel, D)" in tunes("card").out
    tunes("dates", "add", "+3d", "--title", "Barn dance", "--tune", "egret")
    only = tunes("card", "--for", "barn dance").out
    assert "Egret Reel" in only
    assert "Saltpan" not in only
    page = tmp_path / "card.html"
    assert tunes("card", "--html", str(page), "--paper", "A5").code == 0
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!doctype html>")
    assert "148mm 210mm" in text
    assert tunes("card", "--html", str(page), "--paper", "A4").code == 0
    assert "columns: 2" in page.read_text(encoding="utf-8")


def test_ways_of_a_tune_and_what_one_brings(tunes: Say, tmp_path: Path) -> None:
    tunes("log", "saltpan", "--way", "scale")
    listed = tunes("ways", "saltpan").out.splitlines()
    assert any(line.split() == ["scale", "its", "scale", "2026-11-24"] for line in listed)
    assert sum(line.endswith("next") for line in listed) == 1
    found = json.loads(tunes("ways", "saltpan", "--json").out)
    assert {"scale", "sing", "key"} <= {way["id"] for way in found}
    assert set(found[0]) == {"id", "name", "purpose", "possible", "caution", "done", "next"}
    assert next(way["done"] for way in found if way["id"] == "scale") == ["2026-11-24"]
    scale = tunes("ways", "saltpan", "its scale").out
    assert "D  E  F  G  A  B" in scale
    assert json.loads(tunes("ways", "saltpan", "scale", "--json").out)["way"] == "scale"
    page = tmp_path / "scale.html"
    assert tunes("ways", "saltpan", "scale", "--write", str(page)).code == 0
    assert "The Saltpan Reel" in page.read_text(encoding="utf-8")
    no_page = str(tmp_path / "scale.pdf")
    for wrong in (["saltpan", "shout"], ["nobody"], ["saltpan", "scale", "--write", no_page],
                  ["saltpan", "--write", str(page)]):  # fmt: skip
        said = tunes("ways", *wrong)
        assert said.code == 1
        assert len(said.err.splitlines()) == 1


def test_twins_are_told_once(tunes: Say) -> None:
    assert "No two of your tunes begin alike" in tunes("twins").out
    tunes("add", "Salt Pans", "--key", "D", "--metre", "C|", "--a", "A2 FA DAFA | B2 dB AFDE")
    (pair,) = json.loads(tunes("twins", "--json").out)
    assert {pair["title"], pair["other_title"]} == {"Salt Pans", "The Saltpan Reel"}
    assert set(pair) == {"title", "part", "other_title", "other_part", "parts_at", "distance"}
    assert tunes("twins").out.count("\n") == 1


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("log", "copperplate"), 1, "no tune called"),
        (("log", "saltpan", "--minutes", "-1"), 2, "give minutes above 0 and up to 600, not '-1'"),
        (("log", "saltpan", "--minutes", "ten"), 2, "give minutes above 0 and up to 600"),
        (("log", "saltpan", "--at", "2027-01-01T10:00"), 1, "future"),
        (("journal", "--export", "x.txt"), 1, ".md or .csv"),
        (("journal", "--days", "no"), 2, "days as a whole number from 0 to 36500, not 'no'"),
        (("journal", "--days", "-4"), 2, "days as a whole number from 0 to 36500"),
        (("dates", "add", "+3d", "--season", "-1"), 2, "weeks as a whole number from 0 to"),
        (("dates", "add", "moon"), 1, "is no day"),
        (("dates", "add", "+3d"), 1, "needs a name"),
        (("dates", "add", "+3d", "--title", "x", "--tune", "nothing"), 1, "no tune called"),
        (("dates", "add", "+3d", "--title", "x", "--set", "nothing"), 1, "no set called"),
        (("dates", "show", "nothing"), 1, "no date called"),
        (("dates", "off", "every Sunday to Monday"), 1, "not both"),
        (("sets", "add", "x", "hall"), 1, "from 2"),
        (("ics", "in", "none.ics"), 1, "no such file"),
        (("tonight", "--key", "H"), 1, "not a key"),
        (("card", "--for", "wedding"), 1, "no date and no set"),
        (("card", "--paper", "A3"), 2, "invalid choice"),
    ],
)
def test_wrong_input_gives_one_clear_line(
    tunes: Say, arguments: tuple[str, ...], code: int, says: str
) -> None:
    said = tunes(*arguments)
    assert (said.code, says in said.err) == (code, True), said.err
    if code == 1:
        assert said.err.count("\n") == 1
    assert json.loads(tunes("dates", "--json").out) == []
    assert json.loads(tunes("journal", "--json").out) == []


def test_names_from_outside_are_printed_without_escape_codes(tunes: Say) -> None:
    tunes("sets", "add", "\x1b[31mLow\x07 [b]Tide", "saltpan", "hall")
    tunes("dates", "add", "+3d", "--title", "\x1b]0;x\x07[b]Dance", "--set", "low")
    tunes("heard", "\x1b[2JEgret", "--from", "\x9bbox")
    tunes("pickup", "\x1b[1mline")
    out = "".join(tunes(*words).out for words in (("sets",), ("dates",), ("heard",), ("journal",)))
    assert "\x1b" not in out
    assert "\x9b" not in out
    assert "[b]Tide" in out


def test_the_demo_has_sets_dates_and_a_line(say: Say, tmp_path: Path) -> None:
    kept = str(tmp_path / "saltpan.tunes")
    say("demo", "--no-screen", "--keep", kept)
    assert len(json.loads(say("--repertoire", kept, "sets", "--json").out)) == 3
    dates = json.loads(say("--repertoire", kept, "dates", "--json").out)
    assert [row["days"] for row in dates] == [2, 12, 18]
    assert "phrase 3" in say("--repertoire", kept, "pickup").out
    (round_json,) = [json.loads(say("--repertoire", kept, "today", "--json").out)]
    joins = [check for check in round_json["checks"] if "join" in check["strands"][0]]
    assert 0 < len(joins) < len(round_json["checks"]) / 3
