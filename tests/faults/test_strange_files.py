import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store.making import a_check
from tunememory.store.errors import Damaged, NotOurs, RepertoireError
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify


def make_text(path: Path) -> None:
    path.write_text("X:1\nT:The Heron on Post 1\nK:D\nDFAd|\n" * 200)


def make_short(path: Path) -> None:
    path.write_bytes(b"SQLite")


def make_binary(path: Path) -> None:
    path.write_bytes(bytes(range(256)) * 64)


def make_zeros(path: Path) -> None:
    path.write_bytes(bytes(8192))


def make_database(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE tunes (uuid TEXT)")


def make_marked_database(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA application_id = 7")
        other.execute("CREATE TABLE tunes (uuid TEXT)")


def make_busy_database(path: Path) -> None:
    """Another program's, in use: part of its data is in a second file."""
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA journal_mode = WAL")
        other.execute("CREATE TABLE tunes (uuid TEXT)")
        beside = path.with_name(path.name + "-wal")
        main, log = path.read_bytes(), beside.read_bytes()
    path.write_bytes(main)
    beside.write_bytes(log)


def state_of(folder: Path) -> dict[str, bytes]:
    return {entry.name: entry.read_bytes() for entry in folder.iterdir() if entry.is_file()}


@pytest.mark.parametrize(
    "make",
    [
        make_text,
        make_short,
        make_binary,
        make_zeros,
        make_database,
        make_marked_database,
        make_busy_database,
    ],
)
@pytest.mark.parametrize("readonly", [False, True])
def test_a_file_that_is_not_ours_is_left_as_it_is(
    tmp_path: Path, make: Callable[[Path], None], readonly: bool
) -> None:
    path = tmp_path / "other.tunes"
    make(path)
    before = state_of(tmp_path)
    with pytest.raises(NotOurs) as refused:
        Repertoire.open(path, readonly=readonly)
    assert "other.tunes" in str(refused.value)
    assert "left as it is" in str(refused.value)
    assert "\n" not in str(refused.value)
    assert state_of(tmp_path) == before


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotOurs, match="is a folder"):
        Repertoire.open(tmp_path)


def use(path: Path) -> None:
    """What the program does with a file from its start to the first check."""
    with Repertoire.open(path) as repertoire:
        repertoire.tunes.all()
        repertoire.beliefs.all()
        repertoire.checks.last_by_tune()
        repertoire.checks.all()
        repertoire.settings.all()


@pytest.mark.parametrize("part", [0.05, 0.3, 0.5, 0.9, 0.999])
def test_a_file_cut_short_is_left_as_it_is(path: Path, part: float) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * part)])
    before = path.read_bytes()
    with pytest.raises((Damaged, NotOurs)) as refused:
        use(path)
    assert "mine.tunes" in str(refused.value)
    assert "left as it is" in str(refused.value) or "left as it was" in str(refused.value)
    assert path.read_bytes() == before
    assert [entry.name for entry in path.parent.iterdir()] == ["mine.tunes"]


@given(data=st.data())
def test_damage_anywhere_never_shows_as_anything_but_one_line(
    path: Path, data: st.DataObject
) -> None:
    """Whatever is overwritten, reading gives the data or one clear line, and changes nothing."""
    sound = path.read_bytes()
    at = data.draw(st.integers(0, len(sound) - 1))
    junk = data.draw(st.binary(min_size=1, max_size=200))
    broken = (sound[:at] + junk + sound[at + len(junk) :])[: len(sound)]
    path.write_bytes(broken)
    said = ""
    try:
        use(path)
    except RepertoireError as error:
        said = str(error)
    try:
        with Repertoire.open(path) as repertoire:
            problems = verify(repertoire)
    except RepertoireError as error:
        problems = [str(error)]
    left = path.read_bytes()
    path.write_bytes(sound)
    assert "\n" not in said.join(problems)
    assert problems or not said
    assert left == broken


@pytest.mark.parametrize("word", [b"TABLE put_off", b"Heron", b"minutes"])
def test_text_that_is_not_utf_8_is_damage(path: Path, word: bytes) -> None:
    """In the table of tables, where Python cannot even read SQLite's message, and in rows."""
    with Repertoire.open(path) as repertoire:
        repertoire.settings.save({"minutes": "6"})
    broken = path.read_bytes().replace(word, b"\xff" * len(word))
    path.write_bytes(broken)
    with pytest.raises(Damaged, match=r"mine\.tunes is damaged"):
        use(path)
    assert path.read_bytes() == broken


def test_a_damaged_file_can_be_damaged_no_further_by_writing(path: Path) -> None:
    """A check is refused where its table cannot be read; the rest of the file stays."""
    with closing(sqlite3.connect(path)) as other:
        (root,) = other.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'checks'"
        ).fetchone()
    content = bytearray(path.read_bytes())
    content[(root - 1) * 4096 : root * 4096] = b"\x11" * 4096
    path.write_bytes(content)
    with Repertoire.open(path) as repertoire:
        with pytest.raises(Damaged, match="tunememory restore"):
            repertoire.checks.record(a_check(2), b"later")
        assert len(repertoire.tunes.all()) == 2
    assert path.read_bytes() == bytes(content)
