import shutil
from pathlib import Path

import pytest

from tests.store.making import a_check, a_tune
from tunememory.store.backup import back_up, folder_of
from tunememory.store.errors import Busy, Damaged, NotOurs, RepertoireError, Unknown
from tunememory.store.repertoire import Repertoire
from tunememory.store.restore import restore
from tunememory.store.verify import verify


@pytest.fixture
def backup(repertoire: Repertoire, tmp_path: Path) -> Path:
    """A copy with one tune; the file itself has gone on to two and a check."""
    target = tmp_path / "stick" / "copy.tunes"
    repertoire.tunes.add([a_tune(1)])
    back_up(repertoire.path, target)
    repertoire.tunes.add([a_tune(2)])
    repertoire.checks.record(a_check(1, tune=2), b"belief")
    return target


def test_the_copy_is_back_and_other_windows_see_it(repertoire: Repertoire, backup: Path) -> None:
    before = backup.read_bytes()
    assert not repertoire.changed_elsewhere()
    kept = restore(repertoire.path, backup)
    assert repertoire.changed_elsewhere()
    assert repertoire.tunes.all() == [a_tune(1)]
    assert repertoire.checks.all() == []
    assert verify(repertoire) == []
    assert backup.read_bytes() == before
    assert kept == folder_of(repertoire.path) / "mine-before-restore.tunes"
    with Repertoire.open(kept, readonly=True) as old:
        assert old.tunes.all() == [a_tune(1), a_tune(2)]
        assert old.checks.all() == [a_check(1, tune=2)]


def test_a_missing_file_is_made_from_the_copy(backup: Path, tmp_path: Path) -> None:
    path = tmp_path / "new" / "mine.tunes"
    assert restore(path, backup) is None
    with Repertoire.open(path, create=False) as restored:
        assert restored.tunes.all() == [a_tune(1)]


@pytest.mark.parametrize("content", [b"", b"no database", b"\xff" * 5000])
def test_an_unreadable_file_is_set_aside_as_it_is(
    backup: Path, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "broken.tunes"
    for number in (1, 2):
        path.write_bytes(content)
        kept = restore(path, backup)
        assert kept == tmp_path / f"broken.tunes.unreadable-{number}"
        assert kept.read_bytes() == content
        with Repertoire.open(path, create=False) as restored:
            assert restored.tunes.all() == [a_tune(1)]


def test_a_truncated_repertoire_is_restored(repertoire: Repertoire, backup: Path) -> None:
    path = repertoire.path
    repertoire.close()
    half = path.read_bytes()[: path.stat().st_size // 2]
    path.write_bytes(half)
    kept = restore(path, backup)
    assert kept is not None
    assert kept.read_bytes() == half
    with Repertoire.open(path) as restored:
        assert restored.tunes.all() == [a_tune(1)]


def test_an_unsound_copy_is_not_put_in_place(repertoire: Repertoire, backup: Path) -> None:
    content = bytearray(backup.read_bytes())
    content[3 * 4096 : 5 * 4096] = b"\xee" * 2 * 4096
    backup.write_bytes(content)
    before = repertoire.path.read_bytes()
    with pytest.raises(Damaged, match=r"copy\.tunes is damaged"):
        restore(repertoire.path, backup)
    assert repertoire.path.read_bytes() == before


def test_what_is_no_copy_is_refused(repertoire: Repertoire, backup: Path, tmp_path: Path) -> None:
    text = tmp_path / "list.txt"
    text.write_text("no repertoire")
    before = repertoire.path.read_bytes()
    with pytest.raises(NotOurs):
        restore(repertoire.path, text)
    with pytest.raises(Unknown):
        restore(repertoire.path, tmp_path / "none.tunes")
    with pytest.raises(RepertoireError, match="that copy itself"):
        restore(repertoire.path, repertoire.path)
    assert repertoire.path.read_bytes() == before
    with pytest.raises(NotOurs, match="a folder"):
        restore(tmp_path, backup)


def test_a_file_held_by_another_window_is_left_alone(repertoire: Repertoire, backup: Path) -> None:
    with repertoire.writing(), pytest.raises(Busy, match=r"mine\.tunes is in use"):
        restore(repertoire.path, backup, wait=0)
    assert repertoire.tunes.all() == [a_tune(1), a_tune(2)]


def test_a_copy_kept_for_a_day_can_be_restored(repertoire: Repertoire, backup: Path) -> None:
    day_copy = folder_of(repertoire.path) / "mine-2026-03-13.tunes"
    day_copy.parent.mkdir(exist_ok=True)
    shutil.copy(backup, day_copy)
    restore(repertoire.path, day_copy)
    assert repertoire.tunes.all() == [a_tune(1)]
