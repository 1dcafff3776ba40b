import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.store.making import NOON, a_check, a_practice, a_tune, at_once
from tunememory.store.backup import folder_of
from tunememory.store.errors import Damaged, Newer, ReadOnly, RepertoireError
from tunememory.store.merge import merge
from tunememory.store.opening import connect
from tunememory.store.repertoire import Repertoire
from tunememory.store.schema import STEPS, Step
from tunememory.store.verify import tables_of, verify

PLACES = Step(
    "9001_places",
    """
    -- a step of two statements; the second has a semicolon in a text
    ALTER TABLE tunes ADD COLUMN place TEXT NOT NULL DEFAULT 'hall; kitchen';
    CREATE TABLE places (place_id INTEGER PRIMARY KEY, name TEXT NOT NULL) STRICT;
    """,
)
# The twelve-step change of a table (sqlite.org/lang_altertable.html): others point at it.
REBUILT = Step(
    "9002_rounds_rebuilt",
    """
    CREATE TABLE new_rounds (
        round_id INTEGER PRIMARY KEY, uuid TEXT NOT NULL UNIQUE, kind TEXT NOT NULL,
        day TEXT NOT NULL, begun_at TEXT NOT NULL, ended_at TEXT, minutes REAL NOT NULL,
        tuning TEXT NOT NULL, place TEXT NOT NULL
    ) STRICT;
    INSERT INTO new_rounds SELECT *, 'hall' FROM rounds;
    DROP TABLE rounds;
    ALTER TABLE new_rounds RENAME TO rounds;
    """,
)
FAILS = Step("9002_fails", "CREATE TABLE more (a TEXT) STRICT; INSERT INTO nowhere VALUES (1);")
LATER = (*STEPS, PLACES, REBUILT)


@pytest.fixture
def old(path: Path) -> Path:
    """A file of the present format, with data."""
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.add([a_tune(1)])
        repertoire.checks.record(a_check(1), b"belief")
    return path


def version_of(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("PRAGMA user_version").fetchone()[0])


def test_an_earlier_file_becomes_what_a_new_one_is(old: Path, tmp_path: Path) -> None:
    with closing(connect(old, create=False, readonly=False, steps=LATER)) as brought:
        assert brought.execute("SELECT place FROM tunes").fetchall() == [("hall; kitchen",)]
        assert brought.execute("SELECT count(*) FROM levels").fetchone() == (3,)
        assert brought.execute("PRAGMA foreign_keys").fetchone() == (1,)
        found = tables_of(brought)
    with closing(
        connect(tmp_path / "new.tunes", create=True, readonly=False, steps=LATER)
    ) as fresh:
        assert found == tables_of(fresh)
    assert version_of(old) == len(LATER)


def test_what_was_there_is_copied_first(old: Path) -> None:
    before = old.read_bytes()
    connect(old, create=False, readonly=False, steps=LATER).close()
    copy = folder_of(old) / f"mine-before-format-{len(LATER)}.tunes"
    with Repertoire.open(copy, readonly=True) as kept:
        assert kept.tunes.all() == [a_tune(1)]
        assert kept.checks.all() == [a_check(1)]
    assert len(copy.read_bytes()) == len(before)


def test_a_new_file_is_made_without_a_copy(path: Path) -> None:
    connect(path, create=True, readonly=False, steps=LATER).close()
    assert not folder_of(path).exists()


def test_a_file_up_to_date_is_left_alone(old: Path) -> None:
    before = old.read_bytes()
    connect(old, create=False, readonly=False).close()
    assert old.read_bytes() == before
    assert not folder_of(old).exists()


def test_all_steps_or_none(old: Path) -> None:
    before = old.read_bytes()
    with pytest.raises(RepertoireError):
        connect(old, create=False, readonly=False, steps=(*STEPS, PLACES, FAILS))
    assert old.read_bytes() == before
    with Repertoire.open(old) as repertoire:
        assert verify(repertoire) == []


def test_a_step_that_breaks_a_pointer_is_not_kept(old: Path) -> None:
    before = old.read_bytes()
    breaks = Step("9001_breaks", "DELETE FROM tunes;")
    with pytest.raises(Damaged, match="point at rows that are missing"):
        connect(old, create=False, readonly=False, steps=(*STEPS, breaks))
    assert old.read_bytes() == before


def test_a_file_of_a_newer_version_is_refused_untouched(old: Path) -> None:
    connect(old, create=False, readonly=False, steps=LATER).close()
    before = old.read_bytes()
    for readonly in (False, True):
        with pytest.raises(Newer, match=rf"format {len(LATER)}, .* knows {len(STEPS)}\).*Update"):
            Repertoire.open(old, readonly=readonly)
    assert old.read_bytes() == before


def test_a_step_unknown_to_this_version_is_refused(old: Path) -> None:
    """Two branches of the program gave the second step different names."""
    connect(old, create=False, readonly=False, steps=(*STEPS, PLACES)).close()
    before = old.read_bytes()
    with pytest.raises(Newer):
        connect(old, create=False, readonly=False, steps=(*STEPS, FAILS, REBUILT))
    assert old.read_bytes() == before


def test_an_earlier_file_is_not_brought_up_to_date_by_reading_it(old: Path) -> None:
    before = old.read_bytes()
    with pytest.raises(ReadOnly, match="open it once with leave to write"):
        connect(old, create=False, readonly=True, steps=LATER)
    connect(old, create=False, readonly=True, older=True, steps=LATER).close()
    assert old.read_bytes() == before


def of_format(number: int, full: Path, path: Path) -> None:
    """Write a file of an earlier format with all that ``full``, a file of today's, has for it."""
    connect(path, create=True, readonly=False, steps=STEPS[:number]).close()
    with closing(sqlite3.connect(path, isolation_level=None)) as earlier:
        earlier.execute("ATTACH DATABASE ? AS full", (str(full),))
        in_both = (
            "SELECT name FROM main.sqlite_master WHERE type = 'table'"
            " INTERSECT SELECT name FROM full.sqlite_master"
        )
        for (table,) in earlier.execute(in_both).fetchall():
            if table != "_sqlite_migrations":
                asked = earlier.execute(f"PRAGMA main.table_info ({table})")
                columns = ", ".join(row[1] for row in asked)
                earlier.execute(f"INSERT INTO main.{table} SELECT {columns} FROM full.{table}")
    assert version_of(path) == number


@pytest.mark.parametrize("number", range(1, len(STEPS)))
def test_a_file_of_an_earlier_format_keeps_all_and_gains_what_came_since(
    path: Path, tmp_path: Path, number: int
) -> None:
    with Repertoire.open(tmp_path / "full.tunes") as full:
        full.tunes.add([a_tune(1)])
        full.checks.record(a_check(1), b"belief")
    of_format(number, tmp_path / "full.tunes", path)
    with Repertoire.open(path) as brought:
        assert verify(brought) == []
        assert brought.tunes.all() == [a_tune(1)]
        assert brought.checks.all() == [a_check(1)]
        assert brought.beliefs.all() == {a_tune(1).uuid: b"belief"}
        assert (brought.sets.all(), brought.dates.all(), brought.practices.all()) == ([], [], [])
        brought.practices.record(a_practice(2), None)
        found = tables_of(brought.connection)
    with Repertoire.open(tmp_path / "new.tunes") as fresh:
        assert found == tables_of(fresh.connection)
    assert version_of(path) == len(STEPS)
    copy = folder_of(path) / f"mine-before-format-{len(STEPS)}.tunes"
    assert version_of(copy) == number


def test_days_prepared_by_an_earlier_version_are_dropped_and_nothing_else(
    path: Path, tmp_path: Path
) -> None:
    with Repertoire.open(tmp_path / "full.tunes") as full:
        full.tunes.add([a_tune(1)])
        full.checks.record(a_check(1), b"belief")
        full.pick_ups.save(NOON.date(), "phrase 3")
        full.settings.save({"theme": '"paper"'})
    of_format(3, tmp_path / "full.tunes", path)
    with closing(sqlite3.connect(path)) as third:
        third.execute("INSERT INTO prepared_days VALUES ('2026-03-14', '1 UTC', '{}')")
        third.execute("INSERT INTO prepared_days VALUES ('2026-03-15', '1 UTC', '{}')")
        third.commit()
    with Repertoire.open(path) as brought:
        assert "prepared_days" not in tables_of(brought.connection)
        assert verify(brought) == []
        assert (brought.tunes.all(), brought.checks.all()) == ([a_tune(1)], [a_check(1)])
        assert brought.beliefs.all() == {a_tune(1).uuid: b"belief"}
        assert brought.pick_ups.all() == {NOON.date(): "phrase 3"}
        assert brought.settings.all() == {"theme": '"paper"'}
    before = folder_of(path) / f"mine-before-format-{len(STEPS)}.tunes"
    with closing(sqlite3.connect(before)) as copy:
        assert copy.execute("SELECT count(*) FROM prepared_days").fetchone() == (2,)


def test_a_file_with_prepared_days_is_merged_without_them(path: Path, tmp_path: Path) -> None:
    with Repertoire.open(tmp_path / "full.tunes") as full:
        full.tunes.add([a_tune(1)])
    of_format(3, tmp_path / "full.tunes", path)
    with closing(sqlite3.connect(path)) as third:
        third.execute("INSERT INTO prepared_days VALUES ('2026-03-14', '1 UTC', '{}')")
        third.commit()
    before = path.read_bytes()
    with Repertoire.open(tmp_path / "ours.tunes") as ours:
        assert merge(ours, path).tunes_added == 1
        assert ours.tunes.all() == [a_tune(1)]
        assert verify(ours) == []
    assert path.read_bytes() == before


OPEN_WHEN_TOLD = """
import sys
from pathlib import Path
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify
sys.stdin.readline()
with Repertoire.open(Path(sys.argv[1])) as repertoire:
    print(len(verify(repertoire)))
"""


def test_two_windows_may_make_the_same_file_at_once(tmp_path: Path) -> None:
    for number in range(3):
        path = tmp_path / f"{number}.tunes"
        assert at_once(OPEN_WHEN_TOLD, (str(path),), (str(path),)) == [("0\n", "")] * 2
