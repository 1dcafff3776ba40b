"""The work-list, ways with their material, and what is written down of practice."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tunememory.dates.changing import DateDraft
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft
from tunememory.music.pitch import Pitch
from tunememory.music.tune import Status
from tunememory.music.ways.registry import WAYS
from tunememory.recall.check import Level, RoundKind
from tunememory.service.desk import Desk

Kept = Callable[..., list[str]]


def listed(desk: Desk) -> dict[str, set[str]]:
    return {
        item.tune.uuid: {reason.value for reason in item.reasons}
        for group in desk.work_list().groups
        for item in group.items
    }


def test_the_work_list_holds_what_today_asks_for(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(12)
    failed, learning, picked, dated, resting = uuids[:5]
    desk.set_status(learning, Status.LEARNING)
    desk.set_status(resting, Status.RESTING)
    desk.save_date(DateDraft("+10d", "Dance", tunes=(dated,)))
    desk.set_pick_up(f"{desk.tune(picked).title}, the turn")
    hands.forward(days=1)
    desk.check_away(failed, {"A": Level.SIT_OUT}, desk.now())
    found = listed(desk)
    assert found == {
        failed: {"would not come today"},
        picked: {"pick up here"},
        learning: {"in learning"},
        dated: {"for the next date"},
    }
    assert desk.today().practice == 4


def test_a_join_that_would_not_come_brings_the_tune_it_leads_to(
    desk: Desk, kept: Kept, hands: Any
) -> None:
    uuids = kept(2)
    desk.save_set("Low Tide", uuids)
    run = desk.begin(desk.plan(RoundKind.FIRST))
    while run.current is not None:
        run.rate(dict.fromkeys(run.current.strands, Level.KICK_OFF), seconds=1.0)
    run.stop()
    run = desk.begin(desk.plan(RoundKind.FIRST))
    assert run.current is not None
    run.rate(dict.fromkeys(run.current.strands, Level.SIT_OUT), seconds=1.0)
    assert listed(desk) == {uuids[1]: {"would not come today"}}


def test_the_work_list_keeps_to_one_tuning_and_says_what_is_elsewhere(
    desk: Desk, kept: Kept
) -> None:
    kept(2, status=Status.LEARNING, tuning="AEAE")
    kept(1, status=Status.LEARNING)
    here = desk.work_list()
    assert (len(here.groups), dict(here.elsewhere)) == (1, {"AEAE": 2})
    assert sum(len(group.items) for group in desk.work_list("cross A").groups) == 2
    with pytest.raises(NotDoneError):
        desk.work_list("nothing")


def test_ways_are_offered_in_turn(desk: Desk, kept: Kept, hands: Any) -> None:
    (uuid,) = kept(1)
    offered = []
    possible = {way.id for way in desk.ways(uuid) if way.possible}
    for _ in range(len(possible) + 1):
        (way,) = (way for way in desk.ways(uuid) if way.next)
        offered.append(way.id)
        desk.log_practice(uuid, way.id, 2.0)
        hands.forward(days=1)
    assert set(offered) == possible
    assert offered[0] == offered[-1]


def test_ways_say_when_they_were_done_and_why_not(desk: Desk, kept: Kept, hands: Any) -> None:
    (uuid,) = kept(1)
    (bare,) = kept(1, starts=(), key="")
    first = desk.day()
    desk.log_practice(uuid, "scale", 2.0)
    desk.log_practice(uuid, "its scale", 2.0)
    hands.forward(days=2)
    desk.log_practice(uuid, "scale", 2.0)
    ways = {way.id: way for way in desk.ways(uuid)}
    assert ways.keys() == WAYS.keys()
    assert ways["scale"].done == (first, first + timedelta(days=2))
    nothing = {way.id: way for way in desk.ways(bare)}
    assert not nothing["scale"].possible
    assert nothing["scale"].caution


def test_material_uses_the_whole_tune_where_it_came_from_a_book(desk: Desk, tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:The Long Way\nM:4/4\nL:1/8\nK:D\nDEFG A2A2|B2d2 A4|FGAB c2e2|d4 D4:|\n")
    desk.import_file(book, lambda _done, _total: None)
    (row,) = desk.rows()
    # The highest note, e, is in no start.
    starts = {note.pitch for start in desk.tune(row.uuid).starts for note in start.notes}
    assert Pitch(5, "E") not in starts
    (piece, *_) = desk.material(row.uuid, "scale").pieces
    assert max(note.pitch.midi for note in piece.start.notes) >= Pitch(5, "E").midi


def test_neighbours_are_the_surest_of_the_same_root(desk: Desk, kept: Kept) -> None:
    uuids = kept(12)
    desk.check_away(uuids[8], dict.fromkeys(("key", "A", "B"), Level.KICK_OFF), desk.now())
    lines = desk.material(uuids[0], "neighbours").lines
    assert lines[0].startswith(desk.tune(uuids[8]).title)


def test_material_of_no_such_way_or_tune_is_refused(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    with pytest.raises(NotDoneError, match="not a way"):
        desk.material(uuid, "shout")
    with pytest.raises(NotDoneError, match="no longer"):
        desk.material("gone", "scale")


def test_a_way_by_its_name_and_free_words(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    named = desk.log_practice(uuid, "Its Scale", 3.0, words="in thirds")
    free = desk.log_practice(uuid, words="backwards from the last bar")
    assert (named.way, named.words) == ("scale", "in thirds")
    assert (free.way, free.words, free.minutes) == ("", "backwards from the last bar", 0.0)
    with pytest.raises(NotDoneError, match="“scal” is not a way: listen, sing, scale"):
        desk.log_practice(uuid, "scal")


def test_practice_counts_for_the_day_it_was_done(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    late = desk.now().replace(hour=2) - timedelta(days=1)
    assert desk.log_practice(uuid, "scale", at=late).day == desk.day() - timedelta(days=2)
    with pytest.raises(NotDoneError, match="future"):
        desk.log_practice(uuid, "scale", at=desk.now() + timedelta(hours=1))


def test_an_entry_can_be_taken_back_once(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    entry = desk.log_practice(uuid, "scale", 2.0)
    desk.undo_practice(entry.uuid)
    assert desk.repertoire.practices() == []
    with pytest.raises(NotDoneError, match="no longer"):
        desk.undo_practice(entry.uuid)


def test_what_was_practised_is_asked_in_the_last_round(desk: Desk, kept: Kept) -> None:
    uuids = kept(5)
    desk.log_practice(uuids[3], "scale", 5.0)
    desk.log_practice(uuids[1], "sing", 5.0)
    assert {asked.tune.uuid for asked in desk.plan(RoundKind.LAST).asked} == {uuids[3], uuids[1]}


def test_a_pick_up_line_names_tunes_by_whole_words(desk: Desk) -> None:
    wanted = desk.add(Draft(titles=("The Egret",), status=Status.RESTING)).uuid
    desk.add(Draft(titles=("Gret",)))
    desk.add(Draft(titles=("A",)))
    desk.repertoire.save_pick_up(desk.day() - timedelta(days=1), "egret: a slow go at the turn")
    assert listed(desk) == {wanted: {"pick up here"}}


def test_what_a_way_brings_is_written_whole_or_not_at_all(
    desk: Desk, kept: Kept, tmp_path: Path
) -> None:
    (uuid,) = kept(1)
    (bare,) = kept(1, starts=(), key="")
    text = tmp_path / "scale.txt"
    desk.write_way(text, uuid, "scale")
    written = text.read_text(encoding="utf-8")
    assert desk.tune(uuid).title in written
    assert "\n".join(desk.material(uuid, "scale").lines) in written
    for path, tune, way in (
        (tmp_path / "scale.doc", uuid, "scale"),
        (tmp_path / "bare.txt", bare, "scale"),
        (tmp_path / "gone" / "scale.txt", uuid, "scale"),
        (tmp_path / "shout.txt", uuid, "shout"),
    ):
        with pytest.raises(NotDoneError):
            desk.write_way(path, tune, way)
        assert not path.exists()


def test_the_player_may_work_on_any_tune(desk: Desk, kept: Kept) -> None:
    uuids = kept(3, status=Status.RESTING)
    assert listed(desk) == {}
    (group,) = desk.work_list(chosen=uuids[:1]).groups
    assert [item.reasons[0].value for item in group.items] == ["your choice"]
