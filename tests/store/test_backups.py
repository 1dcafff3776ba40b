from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store.making import MovingClock, a_check, a_tune
from tunememory.store.backup import back_up, daily_copies, days_to_keep, folder_of
from tunememory.store.errors import RepertoireError
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify


def test_the_newest_seven_days_and_four_weeks_before_them_are_kept() -> None:
    # A copy on every day of ten weeks; 31 May 2026 is a Sunday, the end of an ISO week.
    last = date(2026, 5, 31)
    days = [last - timedelta(days=back) for back in range(70)]
    assert days_to_keep(days) == {
        *(last - timedelta(days=back) for back in range(7)),
        *(last - timedelta(weeks=weeks) for weeks in range(1, 5)),
    }


@given(st.sets(st.dates()))
def test_no_more_than_eleven_copies_and_the_newest_among_them(days: set[date]) -> None:
    kept = days_to_keep(days)
    assert kept <= days
    assert len(kept) <= 11
    assert set(sorted(days)[-7:]) <= kept


def test_the_first_write_of_a_day_copies_the_file_as_it_stood(path: Path) -> None:
    time = MovingClock(datetime(2026, 3, 14, 12, tzinfo=UTC))
    with Repertoire.open(path, clock=time.clock()) as repertoire:
        repertoire.tunes.add([a_tune(1)])  # nothing to copy before this
        repertoire.tunes.add([a_tune(2)])
        assert daily_copies(path) == {}
        time.moment = datetime(2026, 3, 15, 3, 59, tzinfo=UTC)  # still the day before
        repertoire.checks.record(a_check(1), None)
        assert daily_copies(path) == {}
        time.moment = datetime(2026, 3, 15, 4, 1, tzinfo=UTC)
        repertoire.checks.record(a_check(2), None)
        repertoire.checks.record(a_check(3), None)
        copies = daily_copies(path)
        assert repertoire.backup_problem == ""
    assert list(copies) == [date(2026, 3, 15)]
    with Repertoire.open(copies[date(2026, 3, 15)], readonly=True) as copy:
        assert copy.tunes.all() == [a_tune(1), a_tune(2)]
        assert copy.checks.all() == [a_check(1)]
        assert verify(copy) == []


def test_a_second_window_on_the_same_day_makes_no_second_copy(path: Path) -> None:
    time = MovingClock()
    with Repertoire.open(path, clock=time.clock()) as repertoire:
        repertoire.tunes.add([a_tune(1)])
    for number in (1, 2):
        with Repertoire.open(path, clock=time.clock()) as repertoire:
            repertoire.checks.record(a_check(number), None)
    (copy,) = daily_copies(path).values()
    with Repertoire.open(copy, readonly=True) as kept:
        assert kept.checks.all() == []


def test_old_copies_go_and_other_files_stay(path: Path) -> None:
    time = MovingClock()
    stranger = folder_of(path) / "mine-2020-01-01.tunes.txt"
    with Repertoire.open(path, clock=time.clock()) as repertoire:
        repertoire.tunes.add([a_tune(1)])
        back_up(repertoire.path, folder_of(path) / "mine-by-hand.tunes")
        stranger.write_text("kept")
        for day in range(1, 60):
            time.moment += timedelta(days=1)
            repertoire.checks.record(a_check(day), None)
        assert daily_copies(path).keys() == days_to_keep(daily_copies(path))
        assert len(daily_copies(path)) == 11
    others = {entry.name for entry in folder_of(path).iterdir()} - {
        copy.name for copy in daily_copies(path).values()
    }
    assert others == {"mine-by-hand.tunes", stranger.name}


def test_a_copy_that_fails_does_not_keep_a_check_from_being_saved(path: Path) -> None:
    time = MovingClock()
    with Repertoire.open(path, clock=time.clock()) as repertoire:
        repertoire.tunes.add([a_tune(1)])
        folder_of(path).write_text("a file where the folder should be")
        time.moment += timedelta(days=1)
        repertoire.checks.record(a_check(1), b"belief")
        assert repertoire.checks.all() == [a_check(1)]
        assert "backups" in repertoire.backup_problem
        assert "\n" not in repertoire.backup_problem


def test_a_copy_by_hand_is_a_repertoire_and_never_replaces_a_file(
    repertoire: Repertoire, tmp_path: Path
) -> None:
    repertoire.tunes.add([a_tune(1)])
    target = tmp_path / "elsewhere" / "copy.tunes"
    back_up(repertoire.path, target)
    with Repertoire.open(target, readonly=True) as copy:
        assert copy.tunes.all() == [a_tune(1)]
    before = target.read_bytes()
    repertoire.tunes.add([a_tune(2)])
    with pytest.raises(RepertoireError, match="there already"):
        back_up(repertoire.path, target)
    assert target.read_bytes() == before
    assert [entry.name for entry in target.parent.iterdir()] == ["copy.tunes"]
