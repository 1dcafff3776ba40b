"""Entries by day and tune, the calendar, searching, what was heard, and the way out."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tunememory.dates.agenda import dates_of
from tunememory.dates.changing import DateDraft, add_day_off, save_date
from tunememory.dates.played import played_there
from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.adding import remove_tune
from tunememory.music.tune import Declared, Status
from tunememory.practice.heard import (
    all_heard,
    edit_heard,
    join_heard,
    remove_heard,
    want_heard,
    write_heard,
)
from tunememory.practice.journal import (
    calendar_days,
    export_journal,
    journal_days,
    journal_of,
    search_journal,
)
from tunememory.practice.sitting import close_day
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Level
from tunememory.session import Session

Kept = Callable[..., list[str]]


@pytest.fixture
def week(session: Session, kept: Kept, hands: Any) -> list[str]:
    """Three tunes and three days: practised; heard and closed; nothing but a check."""
    uuids = kept(3)
    log_practice(session, uuids[0], "scale", 6.0)
    log_practice(session, uuids[1], minutes=2.0, words="long bows", head_only=True)
    hands.forward(days=2)
    write_heard(session, "", "the box player", "the Heron, but in G", "recording 41")
    write_heard(session, "The Egret", "the flute player")
    close_day(session, "phrase 3")
    hands.forward(days=1)
    record_check_away(session, uuids[2], {"A": Level.JOIN_IN, "B": Level.FIND}, session.now())
    return uuids


def test_days_come_newest_first_and_empty_ones_not(session: Session, week: list[str]) -> None:
    day = session.day()
    journal = journal_days(session, day - timedelta(days=9), day)
    assert [(day - one.day).days for one in journal] == [0, 1, 3]
    asked, heard, practised = journal
    assert (asked.asked, asked.would_not_come) == (1, (session.tune(week[2]).title,))
    assert [line.name for line in heard.heard] == ["", "The Egret"]
    assert heard.pick_up == "phrase 3"
    assert [(e.title, e.way_name, e.words, e.minutes) for e in practised.entries] == [
        (session.tune(week[0]).title, "its scale", "", 6.0),
        (session.tune(week[1]).title, "", "long bows", 2.0),
    ]
    assert (practised.minutes.instrument, practised.minutes.head) == (6.0, 2.0)
    assert journal_days(session, day - timedelta(days=2), day - timedelta(days=2)) == ()


def test_a_tunes_own_entries(session: Session, week: list[str]) -> None:
    log_practice(session, week[0], "sing", 1.0)
    assert [entry.way for entry in journal_of(session, week[0])] == ["sing", "scale"]
    assert journal_of(session, week[2]) == ()


def test_what_was_done_on_a_removed_tune_stays_in_the_journal(
    session: Session, week: list[str]
) -> None:
    remove_tune(session, week[0])
    (day,) = journal_days(
        session, session.day() - timedelta(days=3), session.day() - timedelta(days=3)
    )
    assert (day.entries[0].title, day.entries[0].tune) == ("a tune that was removed", "")


@pytest.mark.parametrize(
    ("words", "ago"),
    [("bows", [3]), ("BOX", [1]), ("heron 41", [1]), ("phrase", [1]), ("scale", [3]),
     ("saltpan 00", [3]), ("heron bows", []), ("", [])],
)  # fmt: skip
def test_searching(session: Session, week: list[str], words: str, ago: list[int]) -> None:
    assert [(session.day() - one.day).days for one in search_journal(session, words)] == ago


def test_the_calendar_has_every_day(session: Session, week: list[str]) -> None:
    day = session.day()
    save_date(session, DateDraft("every day", "Kitchen session"))
    add_day_off(session, (day + timedelta(days=1)).isoformat())
    days = calendar_days(session, day - timedelta(days=4), day + timedelta(days=2))
    assert [one.minutes for one in days] == [0, 8.0, 0, 0, 0, 0, 0]
    assert [one.asked for one in days] == [0, 0, 0, 0, 1, 0, 0]
    assert [one.off for one in days] == [False] * 5 + [True, False]
    assert days[-1].dates == ("Kitchen session",)
    assert days[0].dates == ()


def test_a_line_heard_is_joined_to_a_tune_later(session: Session, week: list[str]) -> None:
    named, nameless = all_heard(session)
    assert (nameless.name, nameless.tune) == ("", "")
    joined = join_heard(session, nameless.uuid, week[1])
    assert (joined.name, joined.title) == (session.tune(week[1]).title,) * 2
    with pytest.raises(NotDoneError, match="which you have"):
        want_heard(session, nameless.uuid)
    tune = want_heard(session, named.uuid)
    assert (tune.title, tune.status, tune.declared, tune.source) == (
        "The Egret", Status.WANTED, Declared.NEW, "the flute player",
    )  # fmt: skip
    assert all_heard(session)[0].tune == tune.uuid


def test_a_name_that_is_a_tunes_is_joined_at_once(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    assert write_heard(session, "the saltpan 00").tune == uuid


def test_what_was_heard_is_edited_and_taken_out(session: Session) -> None:
    line = write_heard(session, "Egret", note="slow")
    edited = edit_heard(session, line.uuid, "The Egret", "the box player")
    assert (edited.name, edited.from_whom, edited.note) == ("The Egret", "the box player", "")
    remove_heard(session, line.uuid)
    assert all_heard(session) == ()
    with pytest.raises(NotDoneError, match="no longer"):
        edit_heard(session, line.uuid, "x")
    with pytest.raises(NotDoneError):
        remove_heard(session, line.uuid)


def test_nothing_heard_is_not_kept(session: Session) -> None:
    with pytest.raises(NotDoneError, match="write a name"):
        write_heard(session, "  ")
    nameless = write_heard(session, from_whom="the box player")
    with pytest.raises(NotDoneError, match="no name yet"):
        want_heard(session, nameless.uuid)


def test_markdown_and_table(session: Session, week: list[str], tmp_path: Path) -> None:
    write_heard(session, "=SUM(A1) *bold* | x")
    save_date(session, DateDraft(session.day().isoformat(), "Session"))
    (uuid,) = dates_of(session)
    played_there(session, uuid, session.day(), week[:1])
    day = session.day()
    text, table = tmp_path / "j.md", tmp_path / "j.csv"
    assert export_journal(session, text, day - timedelta(days=9), day) == 3
    lines = text.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if line.startswith("## ")] == [
        f"## {(day - timedelta(days=n)).isoformat()}" for n in (3, 1, 0)
    ]
    assert "- Saltpan 00: its scale (6 min)" in lines
    assert "- Saltpan 01: long bows (2 min, in the head)" in lines
    assert "- **pick up here:** phrase 3" in lines
    assert "- heard: =SUM(A1) \\*bold\\* \\| x" in lines
    assert "- played at Session: Saltpan 00" in lines
    export_journal(session, table, day - timedelta(days=9), day)
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert [row["what"] for row in rows] == [
        "practised", "practised", "heard", "heard", "pick up here", "would not come", "played",
        "heard",
    ]  # fmt: skip
    assert rows[-1]["tune"] == "'=SUM(A1) *bold* | x"
    with pytest.raises(NotDoneError, match=r"\.md or \.csv"):
        export_journal(session, tmp_path / "j.txt", day, day)
