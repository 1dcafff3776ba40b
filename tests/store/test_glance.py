"""What is read at a glance is what opening the file says, and never more."""

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from tests.store.making import MovingClock
from tunememory.store.glance import Glance, glance
from tunememory.store.opening import connect
from tunememory.store.repertoire import Repertoire
from tunememory.store.schema import STEPS

CLOCK = MovingClock(datetime(2026, 3, 14, 3, tzinfo=UTC)).clock()
DAY = date(2026, 3, 13)
"""At three in the morning the day before has not ended."""


def test_what_was_saved_is_read(tmp_path: Path) -> None:
    path = tmp_path / "with space #1 ?.tunes"
    with Repertoire.open(path) as file:
        assert glance(path, CLOCK) == Glance(DAY)
        file.settings.save({"theme": '"paper"'})
        file.pick_ups.save(DAY - timedelta(days=2), "B part, phrase 3")
        file.pick_ups.save(DAY, "not yet")
        found = glance(path, CLOCK)
        assert found == Glance(DAY, '"paper"', file.pick_ups.last(DAY))
        assert found.theme == file.settings.all()["theme"]


@pytest.mark.parametrize(
    ("hour", "day"), [("2", DAY + timedelta(days=1)), ("4", DAY), ("true", DAY), ("99", DAY)]
)
def test_the_day_ends_when_the_player_says(tmp_path: Path, hour: str, day: date) -> None:
    path = tmp_path / "own.tunes"
    with Repertoire.open(path) as file:
        file.settings.save({"day_ends_at": hour})
    assert glance(path, CLOCK) == Glance(day)


def test_a_file_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    path = tmp_path / "none.tunes"
    assert glance(path, CLOCK) == Glance(DAY)
    assert not path.exists()


@pytest.mark.parametrize("number", range(1, len(STEPS)))
def test_a_file_of_an_earlier_format_says_little_and_stays(tmp_path: Path, number: int) -> None:
    path = tmp_path / "earlier.tunes"
    connect(path, create=True, readonly=False, steps=STEPS[:number]).close()
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute("INSERT INTO settings VALUES ('theme', '\"paper\"')")
    before = path.read_bytes()
    assert glance(path, CLOCK) == Glance(DAY, '"paper"')
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "content", [b"", b"X:1\nT:A tune book\n", b"SQLite format 3\x00" + b"\xff" * 400]
)
def test_a_file_that_is_not_ours_gives_nothing_and_stays(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.tunes"
    path.write_bytes(content)
    assert glance(path, CLOCK) is None
    assert path.read_bytes() == content


def test_a_folder_gives_nothing(tmp_path: Path) -> None:
    assert glance(tmp_path, CLOCK) is None
