"""Days prepared in advance hold until anything in the file changes, whoever changes it."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from tests.store.making import (
    A_DAY_OFF,
    NOON,
    ROOT,
    MovingClock,
    a_check,
    a_date,
    a_practice,
    a_set,
    a_tune,
)
from tunememory.recall.check import RoundKind
from tunememory.store.checks import Round
from tunememory.store.days import Sitting
from tunememory.store.opening import folder_of
from tunememory.store.records import Heard
from tunememory.store.repertoire import Repertoire

TODAY = NOON.date()
TOMORROW = TODAY + timedelta(days=1)
DAYS = {TODAY: "{}", TOMORROW: '{"note": "café"}'}
AS_NOW = "0.1 UTC"


@pytest.fixture
def prepared(repertoire: Repertoire) -> Repertoire:
    """A file with one of each, and days prepared."""
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.record(a_check(1), b"belief")
    repertoire.save_set(a_set(1, tunes=(1, 2)))
    repertoire.save_date(a_date(1, tunes=(1,), sets=(1,)))
    assert repertoire.save_prepared_days(DAYS, AS_NOW)
    return repertoire


def test_days_come_back_as_they_were_kept(prepared: Repertoire, path: Path) -> None:
    assert prepared.prepared_days(AS_NOW) == DAYS
    with Repertoire.open(path, readonly=True) as reopened:
        assert reopened.prepared_days(AS_NOW) == DAYS
    assert prepared.verify() == []


def test_days_made_otherwise_are_not_there(prepared: Repertoire) -> None:
    assert prepared.prepared_days("0.2 UTC") == {}


def test_what_is_kept_later_takes_the_place_of_all_before(prepared: Repertoire) -> None:
    assert prepared.save_prepared_days({TOMORROW: "later"}, "0.2 UTC")
    assert prepared.prepared_days(AS_NOW) == {}
    assert prepared.prepared_days("0.2 UTC") == {TOMORROW: "later"}


CHANGES: dict[str, Callable[[Repertoire], object]] = {
    "a rating": lambda file: file.record(a_check(2), b"belief"),
    "a rating taken back": lambda file: file.withdraw(a_check(1).uuid, NOON, None),
    "a history": lambda file: file.add_checks([a_check(3)]),
    "a tune more": lambda file: file.add_tunes([a_tune(3)]),
    "an edit": lambda file: file.update_tune(a_tune(1, titles=("Another",))),
    "a tune taken out": lambda file: file.remove_tune(a_tune(1).uuid),
    "a setting": lambda file: file.save_settings({"intake": "2"}),
    "a set": lambda file: file.save_set(a_set(2, tunes=(2, 1))),
    "a date": lambda file: file.save_date(a_date(2, tunes=(2,))),
    "days off": lambda file: file.save_day_off(A_DAY_OFF),
    "practice": lambda file: file.add_practice(a_practice(1), b"belief"),
    "a pick-up line": lambda file: file.save_pick_up(TODAY, "B part"),
    "a tune heard": lambda file: file.save_heard(Heard("h", TODAY, name="a slow one")),
    "a step of the sitting": lambda file: file.save_sitting(Sitting(TODAY)),
    "a round": lambda file: file.begin_round(Round("r", RoundKind.FIRST, TODAY, NOON, 4.0)),
    "a tune put off": lambda file: file.put_off(a_tune(1).uuid, TODAY),
    "beliefs": lambda file: file.save_beliefs({a_tune(1).uuid: b"new"}, parameters_version=1),
    "other parameters": lambda file: file.use_parameters(None),
    "twins": lambda file: file.save_twins([a_tune(1).uuid], []),
}


@pytest.mark.parametrize("change", CHANGES)
def test_every_change_drops_them(prepared: Repertoire, change: str) -> None:
    CHANGES[change](prepared)
    assert prepared.prepared_days(AS_NOW) == {}


def test_a_change_that_fails_drops_nothing(prepared: Repertoire) -> None:
    def fail() -> None:
        with prepared.writing():
            prepared.put_off(a_tune(1).uuid, TODAY)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert prepared.prepared_days(AS_NOW) == DAYS


def test_a_merge_drops_them(prepared: Repertoire, tmp_path: Path) -> None:
    with Repertoire.open(tmp_path / "other.tunes") as other:
        other.add_tunes([a_tune(7)])
    prepared.merge(tmp_path / "other.tunes")
    assert prepared.prepared_days(AS_NOW) == {}


def test_those_of_another_copy_do_not_come_with_a_merge(
    repertoire: Repertoire, tmp_path: Path
) -> None:
    with Repertoire.open(tmp_path / "other.tunes") as other:
        other.add_tunes([a_tune(7)])
        assert other.save_prepared_days(DAYS, AS_NOW)
    repertoire.merge(tmp_path / "other.tunes")
    assert repertoire.prepared_days(AS_NOW) == {}


RATE = """
import sys
from pathlib import Path
from tests.store.making import a_check
from tunememory.store.repertoire import Repertoire
with Repertoire.open(Path(sys.argv[1])) as file:
    file.record(a_check(9), None)
"""


def test_another_process_drops_them(prepared: Repertoire, path: Path) -> None:
    subprocess.run([sys.executable, "-c", RATE, str(path)], cwd=ROOT, check=True, timeout=60)
    assert prepared.prepared_days(AS_NOW) == {}


def test_nothing_is_kept_of_what_another_window_has_changed_meanwhile(
    prepared: Repertoire, path: Path
) -> None:
    with Repertoire.open(path) as window:
        window.record(a_check(9), None)
        assert not prepared.save_prepared_days(DAYS, AS_NOW)
        assert window.prepared_days(AS_NOW) == {}
    assert prepared.changed_elsewhere()
    assert prepared.save_prepared_days(DAYS, AS_NOW)


def test_keeping_them_makes_no_daily_copy_of_the_file(path: Path, time: MovingClock) -> None:
    with Repertoire.open(path, clock=time.clock()) as file:
        file.add_tunes([a_tune(1)])
        before = sorted(folder_of(path).glob("*"))
        time.moment += timedelta(days=1)
        assert file.save_prepared_days(DAYS, AS_NOW)
        assert sorted(folder_of(path).glob("*")) == before
        file.put_off(a_tune(1).uuid, TODAY)
        assert len(sorted(folder_of(path).glob("*"))) == len(before) + 1


def test_a_file_that_is_only_read_keeps_none(prepared: Repertoire, path: Path) -> None:
    prepared.put_off(a_tune(1).uuid, TODAY)
    with Repertoire.open(path, readonly=True) as reading:
        with pytest.raises(Exception, match="reading only"):
            reading.save_prepared_days(DAYS, AS_NOW)
        assert reading.prepared_days(AS_NOW) == {}


def test_with_none_prepared_a_change_writes_no_page_for_them(path: Path) -> None:
    """The rating pays nothing for them; the pages of the table are left as they are."""
    with Repertoire.open(path) as file:
        file.add_tunes([a_tune(1)])
        with closing(sqlite3.connect(path)) as look:
            (root,) = look.execute(
                "SELECT rootpage FROM sqlite_master WHERE name = 'prepared_days'"
            ).fetchone()
        journal = path.with_name(path.name + "-journal")
        with file.writing():
            file.connection.execute("PRAGMA cache_spill = 1")
            file.put_off(a_tune(1).uuid, TODAY)
            # A page that is to be changed stands in the journal first (sqlite.org/fileformat2.html,
            # section 3: header of one sector, then page number, page, checksum).
            held = journal.read_bytes()
        numbers = {
            int.from_bytes(held[at : at + 4], "big") for at in range(512, len(held) - 4103, 4104)
        }
        assert numbers
        assert root not in numbers
