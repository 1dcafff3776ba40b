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
from tunememory.store.backup import back_up
from tunememory.store.days import Sitting
from tunememory.store.merge import merge
from tunememory.store.records import At, Heard
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

DAY = date(2026, 3, 14)
HEARD = Heard(identity(1), DAY, "", "the box player")


@pytest.fixture
def ours(repertoire: Repertoire) -> Repertoire:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.sets.save(a_set(1))
    repertoire.dates.save(a_date(1, tunes=(1,), sets=(1,)))
    repertoire.days_off.save(A_DAY_OFF)
    repertoire.practices.record(a_practice(1), None)
    repertoire.heard.save(HEARD)
    repertoire.pick_ups.save(DAY, "phrase 3")
    repertoire.sittings.save(Sitting(DAY))
    repertoire.beliefs.save({identity(1): b"one", identity(2): b"two"}, parameters_version=0)
    return repertoire


@pytest.fixture
def theirs(ours: Repertoire, tmp_path: Path, time: MovingClock) -> Iterator[Repertoire]:
    path = tmp_path / "laptop" / "mine.tunes"
    back_up(ours.path, path)
    time.moment += timedelta(hours=1)
    with Repertoire.open(path, clock=time.clock()) as opened:
        yield opened


def days(repertoire: Repertoire) -> tuple[object, ...]:
    return (
        repertoire.sets.all(),
        repertoire.dates.all(),
        repertoire.days_off.all(),
        repertoire.dates.answered(),
        repertoire.practices.all(),
        repertoire.heard.all(),
        repertoire.pick_ups.all(),
        repertoire.sittings.all(),
    )


def test_equal_files_stay_as_they_are(ours: Repertoire, theirs: Repertoire) -> None:
    before = days(ours)
    report = merge(ours, theirs.path)
    assert (report.practices_added, report.sets_taken, report.dates_taken) == (0, 0, 0)
    assert days(ours) == before
    assert ours.beliefs.all() == {identity(1): b"one", identity(2): b"two"}


def test_what_only_they_have_is_taken_with_its_tunes_in_order(
    ours: Repertoire, theirs: Repertoire
) -> None:
    # The numbers of rows differ between the files, so only identities can be right.
    ours.tunes.add([a_tune(4)])
    ours.sets.save(a_set(5, (4,)))
    ours.dates.save(a_date(5))
    theirs.tunes.add([a_tune(3)])
    theirs.sets.save(a_set(2, (3, 1, 3)))
    theirs.dates.save(a_date(2, tunes=(3, 2), sets=(2, 1), except_days=(date(2026, 5, 7),)))
    theirs.dates.answer(a_date(2).uuid, DAY)
    theirs.practices.record(a_practice(2, tune=2, played_at=a_date(2).uuid), None)
    theirs.practices.record(a_practice(3, tune=0, words="scales"), None)
    theirs.heard.save(Heard(identity(2), DAY, "The Egret", tune=identity(3)))
    theirs.days_off.save(replace(A_DAY_OFF, uuid=identity(6), rule="FREQ=WEEKLY;BYDAY=SU"))
    theirs.pick_ups.save(DAY + timedelta(days=1), "from the top")
    theirs.sittings.save(Sitting(DAY + timedelta(days=1), At.LAST))

    report = merge(ours, theirs.path)

    assert (report.practices_added, report.sets_taken, report.dates_taken) == (2, 1, 1)
    assert ours.sets.all() == [a_set(1), a_set(5, (4,)), a_set(2, (3, 1, 3))]
    assert ours.dates.all()[2] == theirs.dates.all()[1]
    assert ours.dates.answered() == {(a_date(2).uuid, DAY)}
    assert ours.practices.all() == theirs.practices.all()
    assert ours.heard.all() == theirs.heard.all()
    assert ours.days_off.all() == theirs.days_off.all()
    assert ours.pick_ups.all() == theirs.pick_ups.all()
    assert ours.sittings.all() == theirs.sittings.all()
    assert ours.beliefs.all() == {identity(1): b"one"}
    assert verify(ours) == []
    before = days(ours)
    merge(ours, theirs.path)
    assert days(ours) == before


def test_the_later_edit_wins_in_either_direction(
    ours: Repertoire, theirs: Repertoire, time: MovingClock
) -> None:
    theirs.sets.save(a_set(1, (2, 1), name="theirs"))
    theirs.dates.remove(a_date(1).uuid)
    theirs.pick_ups.save(DAY, "theirs")
    theirs.heard.save(replace(HEARD, name="theirs"))
    theirs.days_off.save(replace(A_DAY_OFF, note="theirs"))
    theirs.sittings.save(Sitting(DAY, At.OVER, closed_at=NOON))
    time.moment += timedelta(hours=1)
    ours.pick_ups.save(DAY, "ours")
    ours.sittings.save(Sitting(DAY, At.PRACTICE))
    merge(ours, theirs.path)
    assert ours.sets.all() == [a_set(1, (2, 1), name="theirs")]
    assert ours.dates.all() == []
    assert ours.heard.all()[0].name == "theirs"
    assert ours.days_off.all()[0].note == "theirs"
    assert ours.pick_ups.all() == {DAY: "ours"}
    assert ours.sittings.all() == [Sitting(DAY, At.PRACTICE)]
    merge(theirs, ours.path)
    assert days(theirs) == days(ours)


def test_an_entry_undone_in_either_is_undone(ours: Repertoire, theirs: Repertoire) -> None:
    theirs.practices.withdraw(a_practice(1).uuid, NOON, None)
    merge(ours, theirs.path)
    assert ours.practices.all() == []
    assert ours.beliefs.all() == {identity(2): b"two"}


def test_a_set_they_removed_is_removed_and_theirs_is_left_alone(
    ours: Repertoire, theirs: Repertoire
) -> None:
    theirs.sets.remove(a_set(1).uuid)
    before = theirs.path.read_bytes()
    merge(ours, theirs.path)
    assert ours.sets.all() == []
    assert ours.dates.all()[0].sets == ()
    assert theirs.path.read_bytes() == before
