"""Sets are ready when their weakest tune and every join is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tunememory.errors import NotDoneError
from tunememory.history.recording import record
from tunememory.recall.check import Check, Level, Prompt, RoundKind, join_to
from tunememory.service.desk import Desk
from tunememory.store.records import new_identity

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def know(desk: Desk, uuid: str, level: Level = Level.KICK_OFF) -> None:
    desk.check_away(uuid, dict.fromkeys(ALL, level), desk.now())


def ask_join(desk: Desk, first: str, second: str, level: Level = Level.KICK_OFF) -> None:
    strand = ((join_to(second), level),)
    record(desk, Check(new_identity(), first, desk.now(), desk.day(), RoundKind.FIRST,
                       Prompt.JOIN, strand))  # fmt: skip


def test_a_set_is_ready_when_its_tunes_and_joins_are(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(3)
    made = desk.save_set("Low Tide", uuids)
    assert not made.ready
    assert [join.chance for join in made.joins] == [None, None]
    for uuid in uuids:
        know(desk, uuid)
    view = desk.set_view(made.uuid)
    assert (view.ready, view.weakest) == (False, "2 joins not asked yet")
    ask_join(desk, uuids[0], uuids[1])
    ask_join(desk, uuids[1], uuids[2])
    assert desk.set_view(made.uuid).ready
    hands.forward(days=2)
    ask_join(desk, uuids[1], uuids[2], Level.SIT_OUT)
    hands.forward(days=4)
    for uuid in uuids:
        know(desk, uuid)
    weak = desk.set_view(made.uuid)
    titles = [desk.tune(uuid).title for uuid in uuids]
    assert (weak.ready, weak.weakest) == (False, f"{titles[1]} into {titles[2]}")
    assert weak.chance == min(join.chance or 1.0 for join in weak.joins)


def test_a_weak_tune_is_named(desk: Desk, kept: Kept, hands: Any) -> None:
    uuids = kept(2)
    made = desk.save_set("", uuids)
    know(desk, uuids[0], Level.SIT_OUT)
    hands.forward(days=20)
    know(desk, uuids[1])
    view = desk.set_view(made.uuid)
    assert view.weakest == desk.tune(uuids[0]).title
    assert view.name == " / ".join(desk.tune(uuid).title for uuid in uuids)


def test_a_tune_twice_running_needs_no_join(desk: Desk, kept: Kept) -> None:
    (uuid,) = kept(1)
    know(desk, uuid)
    view = desk.save_set("Twice", [uuid, uuid])
    assert view.ready
    assert len(view.tunes) == 2


def test_sets_are_changed_and_taken_apart(desk: Desk, kept: Kept) -> None:
    uuids = kept(3)
    made = desk.save_set("Low Tide", uuids)
    desk.save_set("Ebb", uuids[:2])
    changed = desk.save_set("Low Tide", uuids[::-1], made.uuid)
    assert changed.uuid == made.uuid
    assert [tune.tune for tune in changed.tunes] == uuids[::-1]
    assert [view.name for view in desk.all_sets()] == ["Ebb", "Low Tide"]
    desk.remove_set(made.uuid)
    assert [view.name for view in desk.all_sets()] == ["Ebb"]
    for gone in (desk.set_view, desk.remove_set):
        with pytest.raises(NotDoneError, match="no longer"):
            gone(made.uuid)


def test_what_is_no_set_is_refused(desk: Desk, kept: Kept) -> None:
    uuids = kept(1)
    with pytest.raises(NotDoneError, match="from 2"):
        desk.save_set("one", uuids)
    with pytest.raises(NotDoneError, match="no longer"):
        desk.save_set("gone", [*uuids, "gone"])
    with pytest.raises(NotDoneError, match="no longer"):
        desk.save_set("x", uuids * 2, "gone")
    assert desk.all_sets() == ()
