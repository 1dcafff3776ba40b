"""What could not be written to the file stays nowhere: neither there nor in what is shown."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tunememory.clock import Clock
from tunememory.dates.changing import DateDraft
from tunememory.errors import NotDoneError
from tunememory.history import joins
from tunememory.history.recording import record
from tunememory.library.adding import Draft
from tunememory.recall.check import Check, Level, Prompt, RoundKind, join_to
from tunememory.service.desk import Desk, open_desk
from tunememory.session import differing
from tunememory.store.records import At

NOW = datetime(2026, 11, 24, 19, 30, tzinfo=UTC)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    with open_desk(tmp_path / "own.tunes", Clock(lambda: NOW, UTC)) as opened:
        for number in range(3):
            opened.add(Draft(titles=(f"Saltpan {number}",), key="D", starts=(("A", "DFAd"),)))
        opened.save_date(DateDraft("every day", "Kitchen session"))
        opened.hear("The Egret")
        yield opened


def seen(desk: Desk) -> tuple[object, ...]:
    day = desk.day()
    return (
        {uuid: desk.remembered.of(uuid).to_bytes() for uuid in desk.tunes},
        tuple(desk.tunes),
        desk.all_sets(),
        desk.all_dates(),
        desk.all_days_off(),
        desk.heard(),
        desk.journal(day - timedelta(days=3), day),
        desk.sitting(),
    )


CHANGES: dict[str, Callable[[Desk], object]] = {
    "practice": lambda desk: desk.log_practice(next(iter(desk.tunes)), "scale", 5.0),
    "played": lambda desk: desk.played_there(next(iter(desk.dates)), desk.day(), list(desk.tunes)),
    "heard": lambda desk: desk.hear("The Heron"),
    "wanted": lambda desk: desk.want_heard(desk.heard()[0].uuid),
    "set": lambda desk: desk.save_set("Low Tide", list(desk.tunes)),
    "date": lambda desk: desk.save_date(DateDraft("+3d", "Dance", tunes=tuple(desk.tunes))),
    "days off": lambda desk: desk.add_day_off("+9d", "away"),
    "close": lambda desk: desk.close_day("phrase 3"),
    "pain": lambda desk: desk.stop_for_pain(5.0),
    "step": lambda desk: desk.go_to(At.LAST),
}


@contextmanager
def no_commit(desk: Desk) -> Iterator[None]:
    """Everything can be written but nothing can be finished, as when the disk goes away."""

    def allowed(action: int, what: str | None, *_: str | None) -> int:
        refused = action == sqlite3.SQLITE_TRANSACTION and what == "COMMIT"
        return sqlite3.SQLITE_DENY if refused else sqlite3.SQLITE_OK

    desk.repertoire.connection.set_authorizer(allowed)
    try:
        yield
    finally:
        desk.repertoire.connection.set_authorizer(None)


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_that_cannot_be_finished_leaves_nothing(desk: Desk, name: str) -> None:
    before = seen(desk)
    with no_commit(desk), pytest.raises(NotDoneError) as refused:
        CHANGES[name](desk)
    assert "\n" not in str(refused.value)
    assert seen(desk) == before
    CHANGES[name](desk)
    assert seen(desk) != before
    assert differing(desk) == 0
    assert desk.repertoire.verify() == []


def test_a_join_that_cannot_be_kept_is_asked_again(desk: Desk) -> None:
    tunes = tuple(desk.tunes)
    desk.save_set("Low Tide", tunes[:2])
    level = ((join_to(tunes[1]), Level.SIT_OUT),)
    check = Check("one", tunes[0], NOW, NOW.date(), RoundKind.FIRST, Prompt.JOIN, level)
    before = joins.chance_of(desk, tunes[:2])
    with no_commit(desk), pytest.raises(NotDoneError):
        record(desk, check)
    assert joins.chance_of(desk, tunes[:2]) == before
    assert joins.joins_of(desk).last_asked(tunes[:2]) is None
    record(desk, check)
    assert joins.joins_of(desk).last_asked(tunes[:2]) == NOW
