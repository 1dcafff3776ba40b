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

from tests.conftest import Hands
from tunememory.clock import Clock
from tunememory.errors import NotDoneError
from tunememory.history import (
    record,
    record_check_away,
    record_practice,
    withdraw,
    withdraw_practice,
)
from tunememory.library.adding import remove_tune
from tunememory.library.overview import tune_view
from tunememory.music.key import Key
from tunememory.music.tune import Declared, Start, Tune
from tunememory.practice.sitting import set_pick_up
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Check, Level, Practice, Prompt, RoundKind, column_of
from tunememory.session import Session, differing, open_session, rebuild
from tunememory.store.records import new_identity
from tunememory.store.verify import verify

Kept = Callable[..., list[str]]


def practice(session: Session, uuid: str, **changes: Any) -> Practice:
    entry = Practice(new_identity(), session.now(), session.day(), 5.0, uuid, "scale")
    return replace(entry, **changes)


def test_practice_lifts_the_chance_less_than_a_recalled_start(
    session: Session, kept: Kept, hands: Hands
) -> None:
    practised, recalled, left = kept(3)
    hands.forward(days=10)
    record_practice(session, practice(session, practised))
    record_check_away(
        session, recalled, dict.fromkeys(("key", "A", "B"), Level.KICK_OFF), session.now()
    )
    hands.forward(days=10)
    chances = [tune_view(session, uuid).chance.chance for uuid in (left, practised, recalled)]
    assert chances[0] < chances[1] < chances[2]


def test_in_the_head_the_key_is_not_met(session: Session, kept: Kept, hands: Hands) -> None:
    hummed, played = kept(2)
    hands.forward(days=10)
    record_practice(session, practice(session, hummed, head_only=True))
    record_practice(session, practice(session, played))
    key, name, start = (column_of(strand) for strand in ("key", "name", "A"))
    at_hum, at_play = (session.beliefs.of(uuid).exposed_at for uuid in (hummed, played))
    assert at_hum[start] > at_hum[key]
    assert at_play[start] == at_play[key] > at_play[name]


def test_playing_nobody_timed_counts_as_once_through(session: Session, kept: Kept) -> None:
    one, other = kept(2)
    at = session.now()
    record_practice(session, practice(session, one, minutes=0.0, at=at))
    record_practice(session, practice(session, other, minutes=1.0, at=at))
    np.testing.assert_array_equal(session.beliefs.of(one).mean, session.beliefs.of(other).mean)


def test_work_on_no_tune_changes_no_belief(session: Session, kept: Kept) -> None:
    kept(2)
    before = session.repertoire.beliefs.all()
    record_practice(session, practice(session, "", words="long bows"))
    assert session.repertoire.beliefs.all() == before
    (entry,) = session.repertoire.practices.all()
    withdraw_practice(session, entry)
    assert session.repertoire.practices.all() == []


def test_a_tune_only_practised_keeps_its_belief_when_the_file_is_opened_anew(
    session: Session, kept: Kept, hands: Hands, clock: Clock
) -> None:
    (uuid,) = kept(1)
    hands.forward(days=3)
    record_practice(session, practice(session, uuid))
    belief = session.beliefs.of(uuid).to_bytes()
    session.repertoire.beliefs.save({}, parameters_version=99)  # whatever was kept is gone
    with open_session(session.path, clock) as other:
        assert other.beliefs.of(uuid).to_bytes() == belief


def test_practice_undone_leaves_no_trace(session: Session, kept: Kept, hands: Hands) -> None:
    (uuid,) = kept(1)
    hands.forward(days=3)
    record_check_away(session, uuid, {"A": Level.FIND}, session.now())
    before = session.beliefs.of(uuid).to_bytes()
    hands.forward(days=1)
    entry = practice(session, uuid)
    record_practice(session, entry)
    assert session.beliefs.of(uuid).to_bytes() != before
    withdraw_practice(session, entry)
    assert session.beliefs.of(uuid).to_bytes() == before
    assert (differing(session), rebuild(session)) == (0, 0)


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


@settings(max_examples=25)
@given(steps)
def test_whatever_comes_and_goes_the_history_gives_the_same_bits(
    tmp_path_factory: Any, history: list[tuple[str, int, float, bool, Level]]
) -> None:
    """Entries come in any order of time, late ones among them, and some are taken back."""
    hands = Hands()
    path: Path = tmp_path_factory.mktemp("own") / "own.tunes"
    with open_session(path, Clock(hands.now, UTC)) as session:
        session.repertoire.tunes.add([replace(tune, added=session.day()) for tune in TUNES])
        session.reload()
        for what, tune, days, flag, level in history:
            hands.forward(days=1)
            at = session.now() + timedelta(days=days)
            uuid = TUNES[tune].uuid
            if what == "practice":
                record_practice(session, practice(session, uuid, at=at, head_only=flag))
            elif what in {"check", "join"}:
                joined = what == "join"
                strands = (f"join {TUNES[tune - 1].uuid}",) if joined else ("key", "A")
                prompt = Prompt.JOIN if joined else Prompt.HOW
                levels = tuple((strand, level) for strand in strands)
                kind = RoundKind.LAST if flag else RoundKind.FIRST
                record(session, Check(new_identity(), uuid, at, at.date(), kind, prompt, levels))
            elif what == "undo check" and session.repertoire.checks.all(uuid):
                withdraw(session, session.repertoire.checks.all(uuid)[-1])
            elif what == "undo practice" and session.repertoire.practices.all(uuid):
                withdraw_practice(session, session.repertoire.practices.all(uuid)[0])
        assert differing(session) == 0
        assert {
            tune.uuid: session.beliefs.of(tune.uuid).to_bytes() for tune in TUNES
        }.items() >= session.repertoire.beliefs.all().items()
        assert rebuild(session) == 0
        assert verify(session.repertoire) == []


def test_practice_of_a_tune_taken_out_in_another_window_is_refused(
    session: Session, kept: Kept, clock: Clock
) -> None:
    uuid, other_tune = kept(2)
    with open_session(session.path, clock) as other:
        remove_tune(other, uuid)
    with pytest.raises(NotDoneError, match="no longer"):
        log_practice(session, uuid, "scale")
    assert session.repertoire.practices.all() == []
    with open_session(session.path, clock) as other:
        set_pick_up(other, "written there")
    assert log_practice(session, other_tune, "scale").tune == other_tune
