import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.making import ROOT, a_check, a_tune
from tunememory.store.errors import NotOurs, ReadOnly, Unknown
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

HOT_PATH = """
import sys
from pathlib import Path
from tunememory.store.repertoire import Repertoire
from tests.store.making import a_check
with Repertoire.open(Path(sys.argv[1]), create=False) as repertoire:
    assert len(repertoire.tunes.all()) == 2
    repertoire.checks.record(a_check(5), b"belief")
    assert repertoire.checks.all() and repertoire.beliefs.all() and repertoire.checks.last_by_tune()
    repertoire.settings.all()
print("sqlite_utils" in sys.modules)
"""


def test_an_up_to_date_file_is_used_without_sqlite_utils(path: Path) -> None:
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.add([a_tune(1), a_tune(2)])
    ran = subprocess.run(
        [sys.executable, "-c", HOT_PATH, str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout.strip() == "False"


def test_opening_makes_the_file_in_a_folder_of_the_players_own(tmp_path: Path) -> None:
    path = tmp_path / "music" / "mine.tunes"
    with Repertoire.open(path) as repertoire:
        assert repertoire.tunes.all() == []
    assert path.is_file()
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700


def test_a_folder_that_is_there_stays_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "music"
    folder.mkdir()
    folder.chmod(0o755)
    Repertoire.open(folder / "mine.tunes").close()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o755


@pytest.mark.parametrize(("create", "readonly"), [(False, False), (True, True)])
def test_without_leave_to_make_it_a_missing_file_is_named(
    tmp_path: Path, create: bool, readonly: bool
) -> None:
    path = tmp_path / "music" / "mine.tunes"
    with pytest.raises(Unknown, match=r"mine\.tunes does not exist"):
        Repertoire.open(path, create=create, readonly=readonly)
    assert list(tmp_path.iterdir()) == []


def test_names_that_mean_something_in_addresses_are_plain_names(tmp_path: Path) -> None:
    path = tmp_path / "100% of #1? tunes & mode=memory.tunes"
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.add([a_tune(1)])
    with Repertoire.open(path, create=False) as repertoire:
        assert repertoire.tunes.all() == [a_tune(1)]
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


def test_an_empty_file_becomes_a_repertoire_only_with_leave_to_make_one(path: Path) -> None:
    path.touch()
    with pytest.raises(NotOurs, match="empty"):
        Repertoire.open(path, create=False)
    assert path.read_bytes() == b""
    with Repertoire.open(path) as repertoire:
        assert verify(repertoire) == []


def test_one_file_at_rest_and_every_commit_on_the_disk(path: Path) -> None:
    def pragma(name: str) -> object:
        return repertoire.connection.execute(f"PRAGMA {name}").fetchone()[0]

    for _ in ("new", "opened again"):
        with Repertoire.open(path) as repertoire:
            assert pragma("journal_mode") == "delete"
            assert pragma("synchronous") == 3  # EXTRA: sqlite.org/pragma.html#pragma_synchronous
            assert pragma("foreign_keys") == 1
            assert pragma("trusted_schema") == 0
            assert pragma("busy_timeout") == 5000
            repertoire.settings.save({"minutes": "6"})
            assert [entry.name for entry in path.parent.iterdir()] == ["mine.tunes"]


def test_a_file_left_in_another_journal_mode_is_one_file_again(path: Path) -> None:
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.add([a_tune(1)])
    other = sqlite3.connect(path)
    other.execute("PRAGMA journal_mode = WAL")
    other.close()
    with Repertoire.open(path) as repertoire:
        repertoire.checks.record(a_check(1), None)
        assert not path.with_name(path.name + "-wal").exists()


def test_a_file_open_for_reading_is_not_written(path: Path) -> None:
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.add([a_tune(1)])
    before = path.read_bytes()
    with Repertoire.open(path, readonly=True) as repertoire:
        assert repertoire.tunes.all() == [a_tune(1)]
        with pytest.raises(ReadOnly, match="for reading only"):
            repertoire.checks.record(a_check(1), None)
    assert path.read_bytes() == before
