import resource
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.store.making import ROOT, a_check, a_tune
from tunememory.music.tune import Tune
from tunememory.store.backup import back_up
from tunememory.store.errors import Full, RepertoireError
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

MANY = [a_tune(number, note="x" * 5000) for number in range(10, 60)]


def is_as_it_was(path: Path) -> bool:
    with Repertoire.open(path) as repertoire:
        return (
            verify(repertoire) == []
            and repertoire.tunes.all() == [a_tune(1), a_tune(2)]
            and repertoire.checks.all() == [a_check(1)]
        )


def test_no_room_for_a_change_leaves_the_file_as_it_was(path: Path) -> None:
    with Repertoire.open(path) as repertoire:
        repertoire.connection.execute("PRAGMA max_page_count = 1")  # no page more than it has
        with pytest.raises(Full, match="disk is full") as refused:
            repertoire.tunes.add(MANY)
        assert "\n" not in str(refused.value)
        assert repertoire.tunes.all() == [a_tune(1), a_tune(2)]
        repertoire.connection.execute("PRAGMA max_page_count = 100000")
        repertoire.tunes.add(MANY)
        repertoire.checks.record(a_check(2), None)
        assert len(repertoire.tunes.all()) == 52


def test_an_import_that_goes_on_after_a_full_disk_saves_nothing(path: Path) -> None:
    """SQLite ends the transaction itself; what follows in the block must not be kept alone."""
    refused = 0

    def add_each(repertoire: Repertoire, tunes: list[Tune]) -> None:
        nonlocal refused
        with repertoire.writing():
            for tune in tunes:
                try:
                    repertoire.tunes.add([tune])
                except RepertoireError:
                    refused += 1
                    repertoire.connection.execute("PRAGMA max_page_count = 100000")

    with Repertoire.open(path) as repertoire:
        repertoire.connection.execute("PRAGMA max_page_count = 1")
        with pytest.raises(RepertoireError):
            add_each(repertoire, MANY)
    assert refused > 1
    assert is_as_it_was(path)


@contextmanager
def files_no_larger_than(size: int) -> Iterator[None]:
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_write_that_fails_half_way_is_taken_back(path: Path) -> None:
    """The system refuses in the middle of the commit, after part of it was written."""
    with Repertoire.open(path) as repertoire:
        with (
            files_no_larger_than(path.stat().st_size + 3 * 4096),
            pytest.raises(RepertoireError, match=r"could not be read or written|disk is full"),
        ):
            repertoire.tunes.add(MANY)
        assert repertoire.tunes.all() == [a_tune(1), a_tune(2)]
    assert is_as_it_was(path)


ON_A_SMALL_DISK = """
import sys
from pathlib import Path
from tests.store.making import a_check
from tunememory.store.errors import Full
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify
with Repertoire.open(Path(sys.argv[1])) as repertoire:
    saved = 0
    try:
        while True:
            repertoire.checks.record(a_check(2 + saved), b"x" * 3000)
            saved += 1
    except Full as error:
        assert "disk is full" in str(error), error
    assert saved > 10
    assert len(repertoire.checks.all()) == 1 + saved
    assert verify(repertoire) == []
print("saved")
"""


@pytest.mark.skipif(sys.platform != "linux", reason="needs Linux's private mounts")
def test_on_a_disk_that_fills_up_every_check_said_to_be_saved_is_there(
    path: Path, folder: Path
) -> None:
    unshare = shutil.which("unshare")
    disk = folder / "disk"
    disk.mkdir()
    small = 'mount -t tmpfs -o size=400k tunes "$1" && shift && exec "$@"'
    command = [str(unshare), "--map-root-user", "--mount", "sh", "-c", small, "sh", str(disk)]
    if unshare is None or subprocess.run([*command, "true"], check=False).returncode:
        pytest.skip("this user may not mount a small disk")
    use_it = 'cp "$1" "$2" && exec "$3" -c "$4" "$2"'
    ran = subprocess.run(
        [*command, "sh", "-c", use_it, "sh", path, disk / "mine.tunes", sys.executable,
         ON_A_SMALL_DISK],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip
    assert (ran.stdout.strip(), ran.stderr) == ("saved", "")


def test_a_copy_that_does_not_fit_leaves_nothing_behind(path: Path, folder: Path) -> None:
    target = folder / "copy.tunes"
    with (
        Repertoire.open(path) as repertoire,
        files_no_larger_than(8192),
        pytest.raises(RepertoireError, match=r"copy\.tunes"),
    ):
        back_up(repertoire.path, target)
    assert sorted(entry.name for entry in folder.iterdir()) == ["mine.tunes"]
    assert is_as_it_was(path)
