"""Ways with their material, and what is written down of practice."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tunememory.errors import NotDoneError
from tunememory.history import record_check_away
from tunememory.library.importing import import_file
from tunememory.library.overview import tune_rows
from tunememory.music.pitch import Pitch
from tunememory.music.ways.registry import WAYS
from tunememory.practice.ways import log_practice, material_of, undo_practice, ways_of, write_way
from tunememory.recall.check import Level, RoundKind
from tunememory.rounds.planning import plan_round
from tunememory.session import Session

Kept = Callable[..., list[str]]


def test_ways_are_offered_in_turn(session: Session, kept: Kept, hands: Any) -> None:
    (uuid,) = kept(1)
    offered = []
    possible = {one.way.id for one in ways_of(session, uuid) if one.material.possible}
    for _ in range(len(possible) + 1):
        (way,) = (way for way in ways_of(session, uuid) if way.next)
        offered.append(way.way.id)
        log_practice(session, uuid, way.way.id, 2.0)
        hands.forward(days=1)
    assert set(offered) == possible
    assert offered[0] == offered[-1]


def test_ways_say_when_they_were_done_and_why_not(session: Session, kept: Kept, hands: Any) -> None:
    (uuid,) = kept(1)
    (bare,) = kept(1, starts=(), key="")
    first = session.day()
    log_practice(session, uuid, "scale", 2.0)
    log_practice(session, uuid, "its scale", 2.0)
    hands.forward(days=2)
    log_practice(session, uuid, "scale", 2.0)
    ways = {one.way.id: one for one in ways_of(session, uuid)}
    assert ways.keys() == WAYS.keys()
    assert ways["scale"].done == (first, first + timedelta(days=2))
    nothing = {one.way.id: one.material for one in ways_of(session, bare)}
    assert not nothing["scale"].possible
    assert nothing["scale"].caution


def test_material_uses_the_whole_tune_where_it_came_from_a_book(
    session: Session, tmp_path: Path
) -> None:
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:The Long Way\nM:4/4\nL:1/8\nK:D\nDEFG A2A2|B2d2 A4|FGAB c2e2|d4 D4:|\n")
    import_file(session, book, lambda _done, _total: None)
    (row,) = tune_rows(session)
    # The highest note, e, is in no start.
    starts = {note.pitch for start in row.tune.starts for note in start.notes}
    assert Pitch(5, "E") not in starts
    (piece, *_) = material_of(session, row.tune.uuid, "scale").pieces
    assert max(note.pitch.midi for note in piece.start.notes) >= Pitch(5, "E").midi


def test_neighbours_are_the_surest_of_the_same_root(session: Session, kept: Kept) -> None:
    uuids = kept(12)
    record_check_away(
        session, uuids[8], dict.fromkeys(("key", "A", "B"), Level.KICK_OFF), session.now()
    )
    lines = material_of(session, uuids[0], "neighbours").lines
    assert lines[0].startswith(session.tune(uuids[8]).title)


def test_material_of_no_such_way_or_tune_is_refused(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    with pytest.raises(NotDoneError, match="not a way"):
        material_of(session, uuid, "shout")
    with pytest.raises(NotDoneError, match="no longer"):
        material_of(session, "gone", "scale")


def test_a_way_by_its_name_and_free_words(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    named = log_practice(session, uuid, "Its Scale", 3.0, words="in thirds")
    free = log_practice(session, uuid, words="backwards from the last bar")
    assert (named.way, named.words) == ("scale", "in thirds")
    assert (free.way, free.words, free.minutes) == ("", "backwards from the last bar", 0.0)
    with pytest.raises(NotDoneError, match="“scal” is not a way: listen, sing, scale"):
        log_practice(session, uuid, "scal")


def test_practice_counts_for_the_day_it_was_done(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    late = session.now().replace(hour=2) - timedelta(days=1)
    assert log_practice(session, uuid, "scale", at=late).day == session.day() - timedelta(days=2)
    with pytest.raises(NotDoneError, match="future"):
        log_practice(session, uuid, "scale", at=session.now() + timedelta(hours=1))


def test_an_entry_can_be_taken_back_once(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    entry = log_practice(session, uuid, "scale", 2.0)
    undo_practice(session, entry.uuid)
    assert session.repertoire.practices.all() == []
    with pytest.raises(NotDoneError, match="no longer"):
        undo_practice(session, entry.uuid)


def test_what_was_practised_is_asked_in_the_last_round(session: Session, kept: Kept) -> None:
    uuids = kept(5)
    log_practice(session, uuids[3], "scale", 5.0)
    log_practice(session, uuids[1], "sing", 5.0)
    assert {asked.tune.uuid for asked in plan_round(session, RoundKind.LAST).asked} == {
        uuids[3],
        uuids[1],
    }


def test_what_a_way_brings_is_written_whole_or_not_at_all(
    session: Session, kept: Kept, tmp_path: Path
) -> None:
    (uuid,) = kept(1)
    (bare,) = kept(1, starts=(), key="")
    text = tmp_path / "scale.txt"
    write_way(session, text, uuid, "scale")
    written = text.read_text(encoding="utf-8")
    assert session.tune(uuid).title in written
    assert "\n".join(material_of(session, uuid, "scale").lines) in written
    for path, tune, way in (
        (tmp_path / "scale.doc", uuid, "scale"),
        (tmp_path / "bare.txt", bare, "scale"),
        (tmp_path / "gone" / "scale.txt", uuid, "scale"),
        (tmp_path / "shout.txt", uuid, "shout"),
    ):
        with pytest.raises(NotDoneError):
            write_way(session, path, tune, way)
        assert not path.exists()
