"""Practice is met without a level: it counts in the history like checks do, in its place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.service.conftest import Hands
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.history.recording import record, record_practice, withdraw, withdraw_practice
from tunememory.music.key import Key
from tunememory.music.tune import Declared, Start, Tune
from tunememory.recall.check import Check, Level, Prompt, RoundKind, column_of
from tunememory.service.desk import Desk, open_desk
from tunememory.session import differing, rebuild
from tunememory.store.records import Practice, new_identity

Kept = Callable[..., list[str]]


def practice(desk: Desk, uuid: str, **changes: Any) -> Practice:
    entry = Practice(new_identity(), desk.now(), desk.day(), 5.0, uuid, "scale")
    return replace(entry, **changes)


def test_practice_lifts_the_chance_less_than_a_recalled_start(
    desk: Desk, kept: Kept, hands: Hands
) -> None:
    practised, recalled, left = kept(3)
    hands.forward(days=10)
    record_practice(desk, practice(desk, practised))
    desk.check_away(recalled, dict.fromkeys(("key", "A", "B"), Level.KICK_OFF), desk.now())
    hands.forward(days=10)
    chances = [desk.view(uuid).chance.chance for uuid in (left, practised, recalled)]
    assert chances[0] < chances[1] < chances[2]


def test_in_the_head_the_key_is_not_met(desk: Desk, kept: Kept, hands: Hands) -> None:
    hummed, played = kept(2)
    hands.forward(days=10)
    record_practice(desk, practice(desk, hummed, head_only=True))
    record_practice(desk, practice(desk, played))
    key, name, start = (column_of(strand) for strand in ("key", "name", "A"))
    at_hum, at_play = (desk.remembered.of(uuid).exposed_at for uuid in (hummed, played))
    assert at_hum[start] > at_hum[key]
    assert at_play[start] == at_play[key] > at_play[name]


def test_playing_nobody_timed_counts_as_once_through(desk: Desk, kept: Kept) -> None:
    one, other = kept(2)
    at = desk.now()
    record_practice(desk, practice(desk, one, minutes=0.0, at=at))
    record_practice(desk, practice(desk, other, minutes=1.0, at=at))
    np.testing.assert_array_equal(desk.remembered.of(one).mean, desk.remembered.of(other).mean)


def test_work_on_no_tune_changes_no_belief(desk: Desk, kept: Kept) -> None:
    kept(2)
    before = desk.repertoire.beliefs()
    record_practice(desk, practice(desk, "", words="long bows"))
    assert desk.repertoire.beliefs() == before
    (entry,) = desk.repertoire.practices()
    withdraw_practice(desk, entry)
    assert desk.repertoire.practices() == []


def test_a_tune_only_practised_keeps_its_belief_when_the_file_is_opened_anew(
    desk: Desk, kept: Kept, hands: Hands, clock: Clock
) -> None:
    (uuid,) = kept(1)
    hands.forward(days=3)
    record_practice(desk, practice(desk, uuid))
    belief = desk.remembered.of(uuid).to_bytes()
    desk.repertoire.save_beliefs({}, parameters_version=99)  # whatever was kept is gone
    with open_desk(desk.path, clock) as other:
        assert other.remembered.of(uuid).to_bytes() == belief


def test_practice_undone_leaves_no_trace(desk: Desk, kept: Kept, hands: Hands) -> None:
    (uuid,) = kept(1)
    hands.forward(days=3)
    desk.check_away(uuid, {"A": Level.FIND}, desk.now())
    before = desk.remembered.of(uuid).to_bytes()
    hands.forward(days=1)
    entry = practice(desk, uuid)
    record_practice(desk, entry)
    assert desk.remembered.of(uuid).to_bytes() != before
    withdraw_practice(desk, entry)
    assert desk.remembered.of(uuid).to_bytes() == before
    assert (differing(desk), rebuild(desk)) == (0, 0)


TUNES = [
    Tune(f"tune {n}", (f"Saltpan {n}",), key=Key("D"), starts=(Start("A"), Start("B")),
         declared=Declared.KNOWN)
    for n in range(3)
]  # fmt: skip

steps = st.lists(
    st.tuples(
        st.sampled_from(["check", "practice", "join", "undo check", "undo practice"]),
        st.integers(0, 2),
        st.floats(0.0, 20.0),
        st.booleans(),
        st.sampled_from(Level),
    ),
    min_size=1,
    max_size=14,
)


@settings(max_examples=25, deadline=None)
@given(steps)
def test_whatever_comes_and_goes_the_history_gives_the_same_bits(
    tmp_path_factory: Any, history: list[tuple[str, int, float, bool, Level]]
) -> None:
    """Entries come in any order of time, late ones among them, and some are taken back."""
    hands = Hands()
    path: Path = tmp_path_factory.mktemp("own") / "own.tunes"
    with open_desk(path, Clock(hands.now, UTC)) as desk:
        desk.repertoire.add_tunes([replace(tune, added=desk.day()) for tune in TUNES])
        desk.reload()
        for what, tune, days, flag, level in history:
            hands.forward(days=1)
            at = desk.now() + timedelta(days=days)
            uuid = TUNES[tune].uuid
            if what == "practice":
                record_practice(desk, practice(desk, uuid, at=at, head_only=flag))
            elif what in {"check", "join"}:
                joined = what == "join"
                strands = (f"join {TUNES[tune - 1].uuid}",) if joined else ("key", "A")
                prompt = Prompt.JOIN if joined else Prompt.HOW
                levels = tuple((strand, level) for strand in strands)
                kind = RoundKind.LAST if flag else RoundKind.FIRST
                record(desk, Check(new_identity(), uuid, at, at.date(), kind, prompt, levels))
            elif what == "undo check" and desk.repertoire.checks(uuid):
                withdraw(desk, desk.repertoire.checks(uuid)[-1])
            elif what == "undo practice" and desk.repertoire.practices(uuid):
                withdraw_practice(desk, desk.repertoire.practices(uuid)[0])
        assert differing(desk) == 0
        assert {
            tune.uuid: desk.remembered.of(tune.uuid).to_bytes() for tune in TUNES
        }.items() >= desk.repertoire.beliefs().items()
        assert rebuild(desk) == 0
        assert desk.repertoire.verify() == []


def test_practice_of_a_tune_taken_out_in_another_window_is_refused(
    desk: Desk, kept: Kept, clock: Clock
) -> None:
    uuid, other_tune = kept(2)
    with open_desk(desk.path, clock) as other:
        other.remove(uuid)
    with pytest.raises(NotDoneError, match="no longer"):
        desk.log_practice(uuid, "scale")
    assert desk.repertoire.practices() == []
    with open_desk(desk.path, clock) as other:
        other.set_pick_up("written there")
    assert desk.log_practice(other_tune, "scale").tune == other_tune
