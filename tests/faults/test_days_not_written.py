"""What could not be written to the file stays nowhere: neither there nor in what is shown."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.store.making import no_commit
from tunememory import history
from tunememory.clock import Clock
from tunememory.dates.agenda import dates_of
from tunememory.dates.changing import DateDraft, add_day_off, all_days_off, save_date
from tunememory.dates.played import played_there
from tunememory.dates.readiness import all_dates
from tunememory.errors import NotDoneError
from tunememory.history import record
from tunememory.library.adding import Draft, add_tune, change_tunes, remove_tune
from tunememory.library.sets import all_sets, save_set
from tunememory.practice.heard import all_heard, want_heard, write_heard
from tunememory.practice.journal import journal_days
from tunememory.practice.sitting import (
    close_day,
    go_to_step,
    minutes_today,
    pick_up_today,
    stop_for_pain,
)
from tunememory.practice.ways import log_practice
from tunememory.recall.check import Check, Level, Prompt, RoundKind, join_to
from tunememory.rounds.running import sitting_of
from tunememory.session import Session, differing, open_session
from tunememory.store.records import At
from tunememory.store.verify import verify

NOW = datetime(2026, 11, 24, 19, 30, tzinfo=UTC)


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    with open_session(tmp_path / "own.tunes", Clock(lambda: NOW, UTC)) as opened:
        for number in range(3):
            add_tune(opened, Draft(titles=(f"Saltpan {number}",), key="D", starts=(("A", "DFAd"),)))
        save_date(opened, DateDraft("every day", "Kitchen session"))
        write_heard(opened, "The Egret")
        yield opened


def seen(session: Session) -> tuple[object, ...]:
    day = session.day()
    return (
        {uuid: session.beliefs.of(uuid).to_bytes() for uuid in session.tunes},
        tuple(session.tunes.values()),
        all_sets(session),
        all_dates(session),
        all_days_off(session),
        all_heard(session),
        journal_days(session, day - timedelta(days=3), day),
        sitting_of(session),
        pick_up_today(session),
        minutes_today(session),
        session.settings,
    )


CHANGES: dict[str, Callable[[Session], object]] = {
    "tune": lambda session: add_tune(session, Draft(titles=("Saltpan again",), key="D")),
    "edited": lambda session: change_tunes(
        session, [replace(next(iter(session.tunes.values())), kind="jig", starts=())]
    ),
    "removed": lambda session: remove_tune(session, next(iter(session.tunes))),
    "settings": lambda session: session.save_settings(replace(session.settings, intake=7)),
    "practice": lambda session: log_practice(session, next(iter(session.tunes)), "scale", 5.0),
    "played": lambda session: played_there(
        session, next(iter(dates_of(session))), session.day(), list(session.tunes)
    ),
    "heard": lambda session: write_heard(session, "The Heron"),
    "wanted": lambda session: want_heard(session, all_heard(session)[0].uuid),
    "set": lambda session: save_set(session, "Low Tide", list(session.tunes)),
    "date": lambda session: save_date(
        session, DateDraft("+3d", "Dance", tunes=tuple(session.tunes))
    ),
    "days off": lambda session: add_day_off(session, "+9d", "away"),
    "close": lambda session: close_day(session, "phrase 3"),
    "pain": lambda session: stop_for_pain(session, 5.0),
    "step": lambda session: go_to_step(session, At.LAST),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_that_cannot_be_finished_leaves_nothing(session: Session, name: str) -> None:
    before = seen(session)
    with no_commit(session.repertoire), pytest.raises(NotDoneError) as refused:
        CHANGES[name](session)
    assert "\n" not in str(refused.value)
    assert seen(session) == before
    CHANGES[name](session)
    assert seen(session) != before
    assert differing(session) == 0
    assert verify(session.repertoire) == []


def test_a_join_that_cannot_be_kept_is_asked_again(session: Session) -> None:
    tunes = tuple(session.tunes)
    save_set(session, "Low Tide", (tunes[0], tunes[1]))
    level = ((join_to(tunes[1]), Level.SIT_OUT),)
    check = Check("one", tunes[0], NOW, NOW.date(), RoundKind.FIRST, Prompt.JOIN, level)
    before = history.join_chance(session, (tunes[0], tunes[1]))
    with no_commit(session.repertoire), pytest.raises(NotDoneError):
        record(session, check)
    assert history.join_chance(session, (tunes[0], tunes[1])) == before
    assert history.joins_of(session).last_asked((tunes[0], tunes[1])) is None
    record(session, check)
    assert history.joins_of(session).last_asked((tunes[0], tunes[1])) == NOW
