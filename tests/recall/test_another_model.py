"""A file whose beliefs another model made: they are worked out anew from the history."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import replace

from tunememory.clock import Clock
from tunememory.history import record_check_away
from tunememory.recall.belief import MODEL
from tunememory.recall.check import Level
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import replayed, stored_beliefs
from tunememory.session import Session, differing, open_session, rebuild

Kept = Callable[..., list[str]]


def played(session: Session, uuids: list[str]) -> dict[str, bytes]:
    """Check every tune twice, and return what is kept of it."""
    for level in (Level.FIND, Level.SIT_OUT):
        for uuid in uuids:
            record_check_away(session, uuid, {"key": level, "A": level}, session.now())
    return session.repertoire.beliefs.all()


def put_in_earlier_ones(session: Session) -> dict[str, bytes]:
    """Keep in the file what a sitting of half an hour makes, marked as of the model before."""
    kept = session.repertoire
    params = replace(PRIOR, sitting=0.5 / 24.0)
    made = replayed(list(session.tunes.values()), kept.checks.all(), kept.practices.all(), params)
    marked = {
        uuid: struct.pack("<3sB", b"TMB", MODEL - 1) + blob[4:]
        for uuid, blob in stored_beliefs(made).items()
    }
    kept.beliefs.save(marked, parameters_version=0)
    return marked


def test_earlier_beliefs_are_worked_out_anew_and_kept(
    session: Session, kept: Kept, clock: Clock
) -> None:
    uuids = kept(10)
    now = played(session, uuids[:9])
    earlier = put_in_earlier_ones(session)
    assert {uuid: blob[4:] for uuid, blob in earlier.items()} != {
        uuid: blob[4:] for uuid, blob in now.items()
    }
    with open_session(session.path, clock) as other:
        for uuid in uuids[:9]:
            assert other.beliefs.of(uuid).to_bytes() == now[uuid]
        # One never met was never more than what the player had said of it.
        assert other.beliefs.of(uuids[9]).checks.sum() == 0
        assert other.repertoire.beliefs.all().items() >= now.items()
        assert (differing(other), rebuild(other)) == (0, 1)


def test_a_check_starts_from_what_this_model_makes(
    session: Session, kept: Kept, clock: Clock
) -> None:
    (uuid,) = kept(1)
    played(session, [uuid])
    put_in_earlier_ones(session)
    with open_session(session.path, clock) as other:
        record_check_away(other, uuid, {"A": Level.KICK_OFF}, other.now())
        assert (differing(other), rebuild(other)) == (0, 0)


def test_earlier_beliefs_are_no_fault_of_the_file(session: Session, kept: Kept) -> None:
    played(session, kept(3))
    put_in_earlier_ones(session)
    assert differing(session) == 0
