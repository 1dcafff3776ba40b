from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.store.making import (
    A_DAY_OFF,
    DAY,
    MovingClock,
    a_check,
    a_date,
    a_set,
    a_tune,
    fill,
    identity,
)
from tunememory.store.errors import Busy, RepertoireError
from tunememory.store.records import At, Heard, Sitting
from tunememory.store.repertoire import Repertoire


def test_a_block_is_one_change(repertoire: Repertoire) -> None:
    with repertoire.writing():
        repertoire.tunes.add([a_tune(1)])
        repertoire.checks.record(a_check(1), b"belief")
        with Repertoire.open(repertoire.path, readonly=True) as other:
            assert other.tunes.all() == []
    with Repertoire.open(repertoire.path, readonly=True) as other:
        assert other.tunes.all() == [a_tune(1)]
        assert other.checks.all() == [a_check(1)]


def test_a_block_that_fails_leaves_nothing(repertoire: Repertoire) -> None:
    def change_and_fail() -> None:
        with repertoire.writing():
            repertoire.tunes.add([a_tune(1)])
            with repertoire.writing():
                repertoire.checks.record(a_check(1), b"belief")
            raise LookupError

    with pytest.raises(LookupError):
        change_and_fail()
    assert repertoire.tunes.all() == []
    assert not repertoire.connection.in_transaction
    repertoire.tunes.add([a_tune(1)])
    assert repertoire.tunes.all() == [a_tune(1)]


def test_an_inner_block_does_not_commit_by_itself(repertoire: Repertoire) -> None:
    with repertoire.writing():
        with repertoire.writing():
            repertoire.tunes.add([a_tune(1)])
        assert repertoire.connection.in_transaction
    assert not repertoire.connection.in_transaction


def test_nothing_is_written_on_after_the_transaction_was_lost(repertoire: Repertoire) -> None:
    def lose_and_go_on() -> None:
        with repertoire.writing():
            repertoire.tunes.add([a_tune(1)])
            repertoire.connection.execute("ROLLBACK")  # as SQLite itself does on a full disk
            repertoire.tunes.add([a_tune(2)])

    with pytest.raises(RepertoireError, match="earlier step failed"):
        lose_and_go_on()
    assert repertoire.tunes.all() == []
    repertoire.tunes.add([a_tune(3)])
    assert repertoire.tunes.all() == [a_tune(3)]


def test_a_second_writer_is_told_the_file_is_in_use(repertoire: Repertoire) -> None:
    with Repertoire.open(repertoire.path, wait=0) as other:
        with repertoire.writing():
            repertoire.tunes.add([a_tune(1)])
            with pytest.raises(Busy, match="in use by another window"):
                other.tunes.add([a_tune(2)])
            assert other.tunes.all() == []
        other.tunes.add([a_tune(2)])
    assert repertoire.tunes.all() == [a_tune(1), a_tune(2)]


def test_a_change_elsewhere_is_noticed_once_and_our_own_never(repertoire: Repertoire) -> None:
    assert not repertoire.changed_elsewhere()
    repertoire.tunes.add([a_tune(1)])
    assert not repertoire.changed_elsewhere()
    before = repertoire.revision()
    with Repertoire.open(repertoire.path) as other:
        other.tunes.remove(identity(1))
    assert repertoire.revision() != before
    assert repertoire.changed_elsewhere()
    assert not repertoire.changed_elsewhere()


ONE, SET, DATE = identity(1), a_set(1), a_date(1)
EDITS: dict[str, list[Callable[[Repertoire], None]]] = {
    "tunes": [lambda kept: kept.tunes.update(a_tune(1)), lambda kept: kept.tunes.remove(ONE)],
    "sets": [lambda kept: kept.sets.save(SET), lambda kept: kept.sets.remove(SET.uuid)],
    "dates": [lambda kept: kept.dates.save(DATE), lambda kept: kept.dates.remove(DATE.uuid)],
    "days_off": [
        lambda kept: kept.days_off.save(A_DAY_OFF),
        lambda kept: kept.days_off.remove(A_DAY_OFF.uuid),
    ],
    "heard_lines": [
        lambda kept: kept.heard.save(Heard(ONE, DAY)),
        lambda kept: kept.heard.remove(ONE),
    ],
    "pick_ups": [lambda kept: kept.pick_ups.save(DAY, "phrase 4")],
    "sittings": [lambda kept: kept.sittings.save(Sitting(DAY, At.LAST))],
}


@pytest.mark.parametrize("table", EDITS)
def test_a_later_edit_is_later_though_the_clock_was_set_back(
    repertoire: Repertoire, time: MovingClock, table: str
) -> None:
    def edited_at() -> str:
        row = repertoire.connection.execute(f"SELECT max(edited_at) FROM {table}").fetchone()
        return str(row[0])

    fill(repertoire)
    for edit in EDITS[table]:
        before = edited_at()
        time.moment -= timedelta(days=400)
        edit(repertoire)
        assert edited_at() > before
