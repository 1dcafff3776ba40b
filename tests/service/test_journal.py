"""Entries by day and tune, the calendar, searching, what was heard, and the way out."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tunememory.dates.changing import DateDraft
from tunememory.errors import NotDoneError
from tunememory.music.tune import Declared, Status
from tunememory.recall.check import Level
from tunememory.service.desk import Desk

Kept = Callable[..., list[str]]


@pytest.fixture
def week(desk: Desk, kept: Kept, hands: Any) -> list[str]:
    """Three tunes and three days: practised; heard and closed; nothing but a check."""
    uuids = kept(3)
    desk.log_practice(uuids[0], "scale", 6.0)
    desk.log_practice(uuids[1], minutes=2.0, words="long bows", head_only=True)
    hands.forward(days=2)
    desk.hear("", "the box player", "the Heron, but in G", "recording 41")
    desk.hear("The Egret", "the flute player")
    desk.close_day("phrase 3")
    hands.forward(days=1)
    desk.check_away(uuids[2], {"A": Level.JOIN_IN, "B": Level.FIND}, desk.now())
    return uuids


def test_days_come_newest_first_and_empty_ones_not(desk: Desk, week: list[str]) -> None:
    day = desk.day()
    journal = desk.journal(day - timedelta(days=9), day)
    assert [(day - one.day).days for one in journal] == [0, 1, 3]
    asked, heard, practised = journal
    assert (asked.asked, asked.would_not_come) == (1, (desk.tune(week[2]).title,))
    assert [line.name for line in heard.heard] == ["", "The Egret"]
    assert heard.pick_up == "phrase 3"
    assert [(e.title, e.way_name, e.words, e.minutes) for e in practised.entries] == [
        (desk.tune(week[0]).title, "its scale", "", 6.0),
        (desk.tune(week[1]).title, "", "long bows", 2.0),
    ]
    assert (practised.minutes.instrument, practised.minutes.head) == (6.0, 2.0)
    assert desk.journal(day - timedelta(days=2), day - timedelta(days=2)) == ()


def test_a_tunes_own_entries(desk: Desk, week: list[str]) -> None:
    desk.log_practice(week[0], "sing", 1.0)
    assert [entry.way for entry in desk.journal_of(week[0])] == ["sing", "scale"]
    assert desk.journal_of(week[2]) == ()


def test_what_was_done_on_a_removed_tune_stays_in_the_journal(desk: Desk, week: list[str]) -> None:
    desk.remove(week[0])
    (day,) = desk.journal(desk.day() - timedelta(days=3), desk.day() - timedelta(days=3))
    assert (day.entries[0].title, day.entries[0].tune) == ("a tune that was removed", "")


@pytest.mark.parametrize(
    ("words", "ago"),
    [("bows", [3]), ("BOX", [1]), ("heron 41", [1]), ("phrase", [1]), ("scale", [3]),
     ("saltpan 00", [3]), ("heron bows", []), ("", [])],
)  # fmt: skip
def test_searching(desk: Desk, week: list[str], words: str, ago: list[int]) -> None:
    assert [(desk.day() - one.day).days for one in desk.search_journal(words)] == ago


def test_the_calendar_has_every_day(desk: Desk, week: list[str]) -> None:
    day = desk.day()
    desk.save_date(DateDraft("every day", "Kitchen session"))
    desk.add_day_off((day + timedelta(days=1)).isoformat())
    days = desk.calendar(day - timedelta(days=4), day + timedelta(days=2))
    assert [one.minutes for one in days] == [0, 8.0, 0, 0, 0, 0, 0]
    assert [one.asked for one in days] == [0, 0, 0, 0, 1, 0, 0]
    assert [one.off for one in days] == [False] * 5 + [True, False]
    assert days[-1].dates == ("Kitchen session",)
    assert days[0].dates == ()


def test_a_line_heard_is_joined_to_a_tune_later(desk: Desk, week: list[str]) -> None:
    named, nameless = desk.heard()
    assert (nameless.name, nameless.tune) == ("", "")
    joined = desk.join_heard(nameless.uuid, week[1])
    assert (joined.name, joined.title) == (desk.tune(week[1]).title,) * 2
    with pytest.raises(NotDoneError, match="which you have"):
        desk.want_heard(nameless.uuid)
    tune = desk.want_heard(named.uuid)
    assert (tune.title, tune.status, tune.declared, tune.source) == (
        "The Egret", Status.WANTED, Declared.NEW, "the flute player",
    )  # fmt: skip
    assert desk.heard()[0].tune == tune.uuid


def test_a_name_that_is_a_tunes_is_joined_at_once(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    assert desk.hear("the saltpan 00").tune == uuid


def test_what_was_heard_is_edited_and_taken_out(desk: Desk) -> None:
    line = desk.hear("Egret", note="slow")
    edited = desk.edit_heard(line.uuid, "The Egret", "the box player")
    assert (edited.name, edited.from_whom, edited.note) == ("The Egret", "the box player", "")
    desk.remove_heard(line.uuid)
    assert desk.heard() == ()
    with pytest.raises(NotDoneError, match="no longer"):
        desk.edit_heard(line.uuid, "x")
    with pytest.raises(NotDoneError):
        desk.remove_heard(line.uuid)


def test_nothing_heard_is_not_kept(desk: Desk) -> None:
    with pytest.raises(NotDoneError, match="write a name"):
        desk.hear("  ")
    nameless = desk.hear(from_whom="the box player")
    with pytest.raises(NotDoneError, match="no name yet"):
        desk.want_heard(nameless.uuid)


def test_markdown_and_table(desk: Desk, week: list[str], tmp_path: Path) -> None:
    desk.hear("=SUM(A1) *bold* | x")
    desk.save_date(DateDraft("yesterday" if False else desk.day().isoformat(), "Session"))
    (uuid,) = desk.dates
    desk.played_there(uuid, desk.day(), week[:1])
    day = desk.day()
    text, table = tmp_path / "j.md", tmp_path / "j.csv"
    assert desk.export_journal(text, day - timedelta(days=9), day) == 3
    lines = text.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line.startswith("## ")] == [
        f"## {(day - timedelta(days=n)).isoformat()}" for n in (3, 1, 0)
    ]
    assert "- Saltpan 00: its scale (6 min)" in lines
    assert "- Saltpan 01: long bows (2 min, in the head)" in lines
    assert "- **pick up here:** phrase 3" in lines
    assert "- heard: =SUM(A1) \\*bold\\* \\| x" in lines
    assert "- played at Session: Saltpan 00" in lines
    desk.export_journal(table, day - timedelta(days=9), day)
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert [row["what"] for row in rows] == [
        "practised", "practised", "heard", "heard", "pick up here", "would not come", "played",
        "heard",
    ]  # fmt: skip
    assert rows[-1]["tune"] == "'=SUM(A1) *bold* | x"
    with pytest.raises(NotDoneError, match=r"\.md or \.csv"):
        desk.export_journal(tmp_path / "j.txt", day, day)
