from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest

from tests.store.making import a_check, a_tune
from tunememory.store.backup import back_up
from tunememory.store.errors import ReadOnly, RepertoireError
from tunememory.store.repertoire import Repertoire

AsUser = Callable[[], AbstractContextManager[None]]


def refusal_of(repertoire: Repertoire) -> str:
    with pytest.raises(ReadOnly) as refused:
        repertoire.checks.record(a_check(2), b"later")
    return str(refused.value)


@pytest.mark.parametrize(("file", "folder_mode"), [(0o444, 0o755), (0o444, 0o555), (0o666, 0o555)])
def test_a_file_that_cannot_be_written_can_be_read(
    path: Path, folder: Path, ordinary_user: AsUser, file: int, folder_mode: int
) -> None:
    """A file without leave to write; a folder without it, where SQLite's journal has no place."""
    before = path.read_bytes()
    path.chmod(file)
    folder.chmod(folder_mode)
    with ordinary_user(), Repertoire.open(path) as repertoire:
        assert repertoire.tunes.all() == [a_tune(1), a_tune(2)]
        line = refusal_of(repertoire)
        assert repertoire.checks.all() == [a_check(1)]
        assert repertoire.beliefs.all() == {a_tune(1).uuid: b"belief"}
    assert "mine.tunes" in line
    assert "permissions" in line
    assert "\n" not in line
    assert path.read_bytes() == before
    assert [entry.name for entry in folder.iterdir()] == ["mine.tunes"]


def test_a_file_that_cannot_be_read_is_named(path: Path, ordinary_user: AsUser) -> None:
    path.chmod(0)
    with ordinary_user(), pytest.raises(ReadOnly, match=r"mine\.tunes.*permissions"):
        Repertoire.open(path)


def test_a_folder_that_cannot_be_entered_is_named(
    path: Path, folder: Path, ordinary_user: AsUser
) -> None:
    folder.chmod(0o600)
    with ordinary_user(), pytest.raises(ReadOnly, match="permissions"):
        Repertoire.open(path)


def test_no_file_is_made_where_nothing_can_be_written(folder: Path, ordinary_user: AsUser) -> None:
    folder.chmod(0o555)
    for path in (folder / "new.tunes", folder / "new folder" / "new.tunes"):
        with ordinary_user(), pytest.raises(ReadOnly, match=r"new\.tunes.*permissions"):
            Repertoire.open(path)
    assert list(folder.iterdir()) == []


def test_a_backup_that_cannot_be_written_is_named(
    path: Path, folder: Path, ordinary_user: AsUser
) -> None:
    folder.chmod(0o555)
    with (
        ordinary_user(),
        Repertoire.open(path, readonly=True) as repertoire,
        pytest.raises(ReadOnly, match=r"copy\.tunes"),
    ):
        back_up(repertoire.path, folder / "copy.tunes")
    assert [entry.name for entry in folder.iterdir()] == ["mine.tunes"]


def test_a_path_through_a_file_is_named(path: Path) -> None:
    with pytest.raises(RepertoireError, match=r"mine\.tunes/inside\.tunes.*Check the path"):
        Repertoire.open(path / "inside.tunes")


def test_a_file_replaced_while_open_is_not_written(path: Path, folder: Path) -> None:
    """A tool that copies files between machines puts another one in place."""
    with Repertoire.open(path) as repertoire:
        path.rename(folder / "moved.tunes")
        with pytest.raises(ReadOnly, match="moved or replaced while open"):
            repertoire.checks.record(a_check(2), None)
