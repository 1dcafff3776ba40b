"""Tunes from one file to another, and what several files have in common."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.playing import came_at
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.library.adding import Draft, add_tune, remove_tune, set_status
from tunememory.music.tune import Declared, Status
from tunememory.recall.check import Level
from tunememory.session import Session, open_session
from tunememory.store.verify import verify
from tunememory.teaching import pupils
from tunememory.teaching.pupils import Progress, by_progress, give_tunes

Kept = Callable[..., list[str]]


def test_tunes_are_given_with_their_starts_once(
    session: Session, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(3, note="the turn is odd", favourite=True)
    path = tmp_path / "pupils" / "one.tunes"
    with pytest.raises(NotDoneError, match=r"one\.tunes"):
        give_tunes(session, path, uuids[:1])
    assert not path.exists()
    given = give_tunes(session, path, uuids[:2], create=True)
    assert (len(given.given), given.had) == (2, ())
    with open_session(path, clock) as other:
        tune = other.tune(uuids[0])
        assert tune.starts == session.tune(uuids[0]).starts
        assert (tune.status, tune.declared, tune.favourite) == (
            Status.LEARNING, Declared.NEW, False,
        )  # fmt: skip
        remove_tune(other, uuids[0])
        add_tune(other, Draft(titles=("Saltpan 02",)))
    again = give_tunes(session, path, uuids)
    assert again.given == ("Saltpan 00",)  # it comes back; the third is there by its name
    assert again.had == ("Saltpan 01", "Saltpan 02")
    with open_session(path, clock) as other:
        assert len(other.tunes) == 3
        assert verify(other.repertoire) == []
    with pytest.raises(NotDoneError, match="itself"):
        give_tunes(session, session.path, uuids)
    with pytest.raises(NotDoneError, match="no longer"):
        give_tunes(session, path, ["gone"])


def test_which_tunes_several_can_start(
    session: Session, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(4)
    paths = [session.path, tmp_path / "two.tunes", tmp_path / "three.tunes"]
    for path in paths[1:]:
        give_tunes(session, path, uuids[:3], create=True)
    came_at(session, Level.KICK_OFF, *uuids)
    for number, path in enumerate(paths[1:]):
        with open_session(path, clock) as other:
            came_at(other, Level.KICK_OFF, uuids[0], uuids[1 + number])
    shared = pupils.shared(paths, clock)
    titles = [session.tune(uuid).title for uuid in uuids]
    assert shared.all_can == (titles[0],)
    assert set(shared.all_have) == {titles[1], titles[2]}
    with pytest.raises(NotDoneError, match="two"):
        pupils.shared(paths[:1], clock)
    with pytest.raises(NotDoneError, match=r"none\.tunes"):
        pupils.shared([paths[0], tmp_path / "none.tunes"], clock)


def test_a_pupils_page(session: Session, kept: Kept, hands: Any) -> None:
    uuids = kept(4)
    set_status(session, uuids[0], Status.LEARNING)
    came_at(session, Level.SIT_OUT, uuids[2])
    hands.forward(days=60)
    came_at(session, Level.KICK_OFF, uuids[1])
    assert {progress: [tune.uuid for tune in some] for progress, some in
            by_progress(session).items()} == {
        Progress.GIVEN: uuids[:1], Progress.MEND: uuids[2:3], Progress.NOT_ASKED: uuids[3:],
        Progress.CAN_START: uuids[1:2], Progress.LATER: [],
    }  # fmt: skip
