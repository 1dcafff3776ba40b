from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.store.making import (
    A_DAY_OFF,
    NOON,
    MovingClock,
    a_date,
    a_practice,
    a_set,
    a_tune,
    identity,
)
from tunememory.store.days import Sitting
from tunememory.store.records import At, Heard
from tunememory.store.repertoire import Repertoire

DAY = date(2026, 3, 14)
HEARD = Heard(identity(1), DAY, "", "the box player")


@pytest.fixture
def ours(repertoire: Repertoire) -> Repertoire:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_set(a_set(1))
    repertoire.save_date(a_date(1, tunes=(1,), sets=(1,)))
    repertoire.save_day_off(A_DAY_OFF)
    repertoire.add_practice(a_practice(1), None)
    repertoire.save_heard(HEARD)
    repertoire.save_pick_up(DAY, "phrase 3")
    repertoire.save_sitting(Sitting(DAY))
    repertoire.save_beliefs({identity(1): b"one", identity(2): b"two"}, parameters_version=0)
    return repertoire


@pytest.fixture
def theirs(ours: Repertoire, tmp_path: Path, time: MovingClock) -> Iterator[Repertoire]:
    path = tmp_path / "laptop" / "mine.tunes"
    ours.backup(path)
    time.moment += timedelta(hours=1)
    with Repertoire.open(path, clock=time.clock()) as opened:
        yield opened


def days(repertoire: Repertoire) -> tuple[object, ...]:
    return (
        repertoire.sets(),
        repertoire.dates(),
        repertoire.days_off(),
        repertoire.dates_answered(),
        repertoire.practices(),
        repertoire.heard(),
        repertoire.pick_ups(),
        repertoire.sittings(),
    )


def test_equal_files_stay_as_they_are(ours: Repertoire, theirs: Repertoire) -> None:
    before = days(ours)
    report = ours.merge(theirs.path)
    assert (report.practices_added, report.sets_taken, report.dates_taken) == (0, 0, 0)
    assert days(ours) == before
    assert ours.beliefs() == {identity(1): b"one", identity(2): b"two"}


def test_what_only_they_have_is_taken_with_its_tunes_in_order(
    ours: Repertoire, theirs: Repertoire
) -> None:
    # The numbers of rows differ between the files, so only identities can be right.
    ours.add_tunes([a_tune(4)])
    ours.save_set(a_set(5, (4,)))
    ours.save_date(a_date(5))
    theirs.add_tunes([a_tune(3)])
    theirs.save_set(a_set(2, (3, 1, 3)))
    theirs.save_date(a_date(2, tunes=(3, 2), sets=(2, 1), except_days=(date(2026, 5, 7),)))
    theirs.answer_date(a_date(2).uuid, DAY)
    theirs.add_practice(a_practice(2, tune=2, played_at=a_date(2).uuid), None)
    theirs.add_practice(a_practice(3, tune=0, words="scales"), None)
    theirs.save_heard(Heard(identity(2), DAY, "The Egret", tune=identity(3)))
    theirs.save_day_off(replace(A_DAY_OFF, uuid=identity(6), rule="FREQ=WEEKLY;BYDAY=SU"))
    theirs.save_pick_up(DAY + timedelta(days=1), "from the top")
    theirs.save_sitting(Sitting(DAY + timedelta(days=1), At.LAST))

    report = ours.merge(theirs.path)

    assert (report.practices_added, report.sets_taken, report.dates_taken) == (2, 1, 1)
    assert ours.sets() == [a_set(1), a_set(5, (4,)), a_set(2, (3, 1, 3))]
    assert ours.dates()[2] == theirs.dates()[1]
    assert ours.dates_answered() == {(a_date(2).uuid, DAY)}
    assert ours.practices() == theirs.practices()
    assert ours.heard() == theirs.heard()
    assert ours.days_off() == theirs.days_off()
    assert ours.pick_ups() == theirs.pick_ups()
    assert ours.sittings() == theirs.sittings()
    assert ours.beliefs() == {identity(1): b"one"}
    assert ours.verify() == []
    before = days(ours)
    ours.merge(theirs.path)
    assert days(ours) == before


def test_the_later_edit_wins_in_either_direction(
    ours: Repertoire, theirs: Repertoire, time: MovingClock
) -> None:
    theirs.save_set(a_set(1, (2, 1), name="theirs"))
    theirs.remove_date(a_date(1).uuid)
    theirs.save_pick_up(DAY, "theirs")
    theirs.save_heard(replace(HEARD, name="theirs"))
    theirs.save_day_off(replace(A_DAY_OFF, note="theirs"))
    theirs.save_sitting(Sitting(DAY, At.OVER, closed_at=NOON))
    time.moment += timedelta(hours=1)
    ours.save_pick_up(DAY, "ours")
    ours.save_sitting(Sitting(DAY, At.PRACTICE))
    ours.merge(theirs.path)
    assert ours.sets() == [a_set(1, (2, 1), name="theirs")]
    assert ours.dates() == []
    assert ours.heard()[0].name == "theirs"
    assert ours.days_off()[0].note == "theirs"
    assert ours.pick_ups() == {DAY: "ours"}
    assert ours.sittings() == [Sitting(DAY, At.PRACTICE)]
    theirs.merge(ours.path)
    assert days(theirs) == days(ours)


def test_an_entry_undone_in_either_is_undone(ours: Repertoire, theirs: Repertoire) -> None:
    theirs.withdraw_practice(a_practice(1).uuid, NOON, None)
    ours.merge(theirs.path)
    assert ours.practices() == []
    assert ours.beliefs() == {identity(2): b"two"}


def test_a_set_they_removed_is_removed_and_theirs_is_left_alone(
    ours: Repertoire, theirs: Repertoire
) -> None:
    theirs.remove_set(a_set(1).uuid)
    before = theirs.path.read_bytes()
    ours.merge(theirs.path)
    assert ours.sets() == []
    assert ours.dates()[0].sets == ()
    assert theirs.path.read_bytes() == before
