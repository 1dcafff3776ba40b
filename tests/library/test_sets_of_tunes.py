"""Sets are ready when their weakest tune and every join is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tunememory.errors import NotDoneError
from tunememory.history import record, record_check_away
from tunememory.library.sets import all_sets, remove_set, save_set, set_view
from tunememory.recall.check import Check, Level, Prompt, RoundKind, join_to
from tunememory.session import Session
from tunememory.store.records import new_identity

Kept = Callable[..., list[str]]
ALL = ("key", "A", "B")


def know(session: Session, uuid: str, level: Level = Level.KICK_OFF) -> None:
    record_check_away(session, uuid, dict.fromkeys(ALL, level), session.now())


def ask_join(session: Session, first: str, second: str, level: Level = Level.KICK_OFF) -> None:
    strand = ((join_to(second), level),)
    record(session, Check(new_identity(), first, session.now(), session.day(), RoundKind.FIRST,
                       Prompt.JOIN, strand))  # fmt: skip


def test_a_set_is_ready_when_its_tunes_and_joins_are(
    session: Session, kept: Kept, hands: Any
) -> None:
    uuids = kept(3)
    made = save_set(session, "Low Tide", uuids)
    assert not made.ready
    assert [join.chance for join in made.joins] == [None, None]
    for uuid in uuids:
        know(session, uuid)
    view = set_view(session, made.uuid)
    assert (view.ready, view.weakest) == (False, "2 joins not asked yet")
    ask_join(session, uuids[0], uuids[1])
    ask_join(session, uuids[1], uuids[2])
    assert set_view(session, made.uuid).ready
    hands.forward(days=2)
    ask_join(session, uuids[1], uuids[2], Level.SIT_OUT)
    hands.forward(days=4)
    for uuid in uuids:
        know(session, uuid)
    weak = set_view(session, made.uuid)
    titles = [session.tune(uuid).title for uuid in uuids]
    assert (weak.ready, weak.weakest) == (False, f"{titles[1]} into {titles[2]}")
    assert weak.chance == min(join.chance or 1.0 for join in weak.joins)


def test_a_weak_tune_is_named(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(2)
    made = save_set(session, "", uuids)
    know(session, uuids[0], Level.SIT_OUT)
    hands.forward(days=20)
    know(session, uuids[1])
    view = set_view(session, made.uuid)
    assert view.weakest == session.tune(uuids[0]).title
    assert view.name == " / ".join(session.tune(uuid).title for uuid in uuids)


def test_a_tune_twice_running_needs_no_join(session: Session, kept: Kept) -> None:
    (uuid,) = kept(1)
    know(session, uuid)
    view = save_set(session, "Twice", [uuid, uuid])
    assert view.ready
    assert len(view.tunes) == 2


def test_sets_are_changed_and_taken_apart(session: Session, kept: Kept) -> None:
    uuids = kept(3)
    made = save_set(session, "Low Tide", uuids)
    save_set(session, "Ebb", uuids[:2])
    changed = save_set(session, "Low Tide", uuids[::-1], made.uuid)
    assert changed.uuid == made.uuid
    assert [tune.tune for tune in changed.tunes] == uuids[::-1]
    assert [view.name for view in all_sets(session)] == ["Ebb", "Low Tide"]
    remove_set(session, made.uuid)
    assert [view.name for view in all_sets(session)] == ["Ebb"]
    for gone in (set_view, remove_set):
        with pytest.raises(NotDoneError, match="no longer"):
            gone(session, made.uuid)


def test_what_is_no_set_is_refused(session: Session, kept: Kept) -> None:
    uuids = kept(1)
    with pytest.raises(NotDoneError, match="from 2"):
        save_set(session, "one", uuids)
    with pytest.raises(NotDoneError, match="no longer"):
        save_set(session, "gone", [*uuids, "gone"])
    with pytest.raises(NotDoneError, match="no longer"):
        save_set(session, "x", uuids * 2, "gone")
    assert all_sets(session) == ()
