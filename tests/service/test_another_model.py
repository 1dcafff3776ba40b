"""A file whose beliefs another model made: they are worked out anew from the history."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import replace

from tunememory.clock import Clock
from tunememory.recall.belief import MODEL
from tunememory.recall.check import Level
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import replayed, stored_beliefs
from tunememory.service.desk import Desk, open_desk
from tunememory.session import differing, rebuild

Kept = Callable[..., list[str]]


def played(desk: Desk, uuids: list[str]) -> dict[str, bytes]:
    """Check every tune twice, and return what is kept of it."""
    for level in (Level.FIND, Level.SIT_OUT):
        for uuid in uuids:
            desk.check_away(uuid, {"key": level, "A": level}, desk.now())
    return desk.repertoire.beliefs()


def put_in_earlier_ones(desk: Desk) -> dict[str, bytes]:
    """Keep in the file what a sitting of half an hour makes, marked as of the model before."""
    kept = desk.repertoire
    params = replace(PRIOR, sitting=0.5 / 24.0)
    made = replayed(list(desk.tunes.values()), kept.checks(), kept.practices(), params)
    marked = {
        uuid: struct.pack("<3sB", b"TMB", MODEL - 1) + blob[4:]
        for uuid, blob in stored_beliefs(made).items()
    }
    kept.save_beliefs(marked, parameters_version=0)
    return marked


def test_earlier_beliefs_are_worked_out_anew_and_kept(desk: Desk, kept: Kept, clock: Clock) -> None:
    uuids = kept(10)
    now = played(desk, uuids[:9])
    earlier = put_in_earlier_ones(desk)
    assert {uuid: blob[4:] for uuid, blob in earlier.items()} != {
        uuid: blob[4:] for uuid, blob in now.items()
    }
    with open_desk(desk.path, clock) as other:
        for uuid in uuids[:9]:
            assert other.remembered.of(uuid).to_bytes() == now[uuid]
        # One never met was never more than what the player had said of it.
        assert other.remembered.of(uuids[9]).checks.sum() == 0
        assert other.repertoire.beliefs().items() >= now.items()
        assert (differing(other), rebuild(other)) == (0, 1)


def test_a_check_starts_from_what_this_model_makes(desk: Desk, kept: Kept, clock: Clock) -> None:
    (uuid,) = kept(1)
    played(desk, [uuid])
    put_in_earlier_ones(desk)
    with open_desk(desk.path, clock) as other:
        other.check_away(uuid, {"A": Level.KICK_OFF}, other.now())
        assert (differing(other), rebuild(other)) == (0, 0)


def test_earlier_beliefs_are_no_fault_of_the_file(desk: Desk, kept: Kept) -> None:
    played(desk, kept(3))
    put_in_earlier_ones(desk)
    assert differing(desk) == 0
