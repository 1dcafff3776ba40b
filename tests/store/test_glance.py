"""A setting read at a glance is what opening the file says, and never more."""

from datetime import date
from pathlib import Path

import pytest

from tunememory.store.glance import glance, glance_pick_up
from tunememory.store.repertoire import Repertoire


def test_a_saved_setting_is_read(tmp_path: Path) -> None:
    path = tmp_path / "with space #1 ?.tunes"
    with Repertoire.open(path) as file:
        assert glance(path, "theme") == ""
        file.save_settings({"theme": '"paper"'})
        assert glance(path, "theme") == file.settings()["theme"] == '"paper"'


def test_a_file_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    path = tmp_path / "none.tunes"
    assert glance(path, "theme") == ""
    assert not path.exists()


@pytest.mark.parametrize(
    "content", [b"", b"X:1\nT:A tune book\n", b"SQLite format 3\x00" + b"\xff" * 400]
)
def test_a_file_that_is_not_ours_gives_nothing_and_stays(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.tunes"
    path.write_bytes(content)
    assert glance(path, "theme") is None
    assert path.read_bytes() == content


def test_a_folder_gives_nothing(tmp_path: Path) -> None:
    assert glance(tmp_path, "theme") is None


def test_the_line_to_today_is_that_of_the_last_day_before(tmp_path: Path) -> None:
    path = tmp_path / "own.tunes"
    today = date(2026, 3, 14)
    assert glance_pick_up(path, today) is None
    with Repertoire.open(path) as file:
        assert glance_pick_up(path, today) is None
        file.save_pick_up(date(2026, 3, 12), "B part, phrase 3")
        file.save_pick_up(today, "not yet")
        assert glance_pick_up(path, today) == file.last_pick_up(today)
    path.write_bytes(b"something else")
    assert glance_pick_up(path, today) is None
