import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.store.making import (
    A_DAY_OFF,
    DAY,
    NOON,
    MovingClock,
    a_check,
    a_date,
    a_practice,
    a_set,
    a_tune,
    fill,
    identity,
    no_commit,
)
from tests.store.test_schema import TABLES
from tunememory.music.tune import Status
from tunememory.recall.check import RoundKind
from tunememory.store.backup import back_up, folder_of
from tunememory.store.errors import Damaged, NotOurs, RepertoireError, Unknown
from tunememory.store.merge import MergeReport, merge
from tunememory.store.records import At, Heard, ImportedRow, ParameterSet, Round, Sitting
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

HEARD = Heard(identity(1), DAY, "", "the box player")
NOTHING = MergeReport(0, 0, 0, 0, 0)


@pytest.fixture
def ours(repertoire: Repertoire) -> Repertoire:
    """Tunes 1 and 2 with a check of each, and of all else one."""
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.checks.add([a_check(1, tune=1), a_check(2, tune=2)])
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
    """A copy of ours that goes its own way, an hour later."""
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


def rows_in(repertoire: Repertoire, table: str) -> int:
    return int(repertoire.connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def test_of_every_table_is_taken_what_its_line_says(repertoire: Repertoire, tmp_path: Path) -> None:
    fill(repertoire)
    with Repertoire.open(tmp_path / "new.tunes") as new:
        merge(new, repertoire.path)
        for table, what in TABLES.items():
            there = rows_in(repertoire, table)
            assert there, table
            assert rows_in(new, table) == (0 if what.startswith("not merged") else there), table
        assert days(new) == days(repertoire)
        assert new.checks.all() == repertoire.checks.all()
        assert verify(new) == []


def test_two_equal_files_have_nothing_to_merge(ours: Repertoire, theirs: Repertoire) -> None:
    before = days(ours)
    assert merge(ours, theirs.path) == NOTHING
    assert days(ours) == before
    assert ours.beliefs.all() == {identity(1): b"one", identity(2): b"two"}


def test_all_they_have_is_taken_and_nothing_of_ours_is_lost(
    ours: Repertoire, theirs: Repertoire
) -> None:
    ours.tunes.add([a_tune(4)])
    ours.checks.record(a_check(5, tune=1), b"one after five")
    ours.settings.save({"minutes": "6"})
    theirs.tunes.add([a_tune(3)])
    theirs.rounds.begin(Round("round", RoundKind.FIRST, DAY, NOON, 4.0, ended_at=NOON))
    theirs.checks.record(a_check(3, tune=3, round_uuid="round", strayed_into=identity(2)), None)
    theirs.checks.record(a_check(4, tune=2), None)
    theirs.rounds.put_off(identity(3), DAY)
    theirs.imports.save(ImportedRow(identity(3), "Aird 1782", "7", "egret", "X:7", "abc"))
    theirs.parameters.add(ParameterSet("fit", NOON, "{}", "{}"))
    theirs.settings.save({"minutes": "9", "theme": '"paper"'})

    assert merge(ours, theirs.path) == MergeReport(1, 0, 2, 0, 1)

    assert ours.tunes.all() == [a_tune(1), a_tune(2), a_tune(4), a_tune(3)]
    assert ours.checks.all() == [
        a_check(1, tune=1),
        a_check(2, tune=2),
        a_check(3, tune=3, round_uuid="round", strayed_into=identity(2)),
        a_check(4, tune=2),
        a_check(5, tune=1),
    ]
    assert ours.rounds.on(DAY) == theirs.rounds.on(DAY)
    assert ours.rounds.put_off_on(DAY) == {identity(3)}
    assert ours.imports.of_book("Aird 1782") == theirs.imports.of_book("Aird 1782")
    assert [made.active for made in ours.parameters.all()] == [False]
    assert ours.settings.all() == {"minutes": "6", "theme": '"paper"'}
    assert ours.beliefs.all() == {identity(1): b"one after five"}
    assert verify(ours) == []
    assert merge(ours, theirs.path) == NOTHING


def test_merging_both_ways_gives_the_same_repertoire(ours: Repertoire, theirs: Repertoire) -> None:
    ours.tunes.add([a_tune(4)])
    ours.checks.record(a_check(5, tune=4), None)
    theirs.tunes.update(a_tune(1, kind="jig"))
    theirs.tunes.add([a_tune(3)])
    theirs.checks.record(a_check(6, tune=3), None)
    merge(ours, theirs.path)
    merge(theirs, ours.path)
    assert {tune.uuid: tune for tune in ours.tunes.all()} == {
        tune.uuid: tune for tune in theirs.tunes.all()
    }
    assert ours.checks.all() == theirs.checks.all()


def test_the_later_edit_of_a_tune_wins_whole(
    ours: Repertoire, theirs: Repertoire, time: MovingClock
) -> None:
    theirs_edit = a_tune(1, titles=("The Egret",), starts=a_tune().starts[1:], key=None)
    theirs.tunes.update(theirs_edit)
    theirs.tunes.update(a_tune(2, kind="polka"))
    time.moment += timedelta(hours=1)
    ours.tunes.update(a_tune(2, status=Status.RESTING))
    assert merge(ours, theirs.path) == replace(NOTHING, tunes_changed=1)
    assert ours.tunes.all() == [theirs_edit, a_tune(2, status=Status.RESTING)]
    assert ours.beliefs.all() == {identity(2): b"two"}


def test_removing_a_tune_is_an_edit_like_another(
    ours: Repertoire, theirs: Repertoire, time: MovingClock
) -> None:
    theirs.tunes.remove(identity(1))
    theirs.tunes.remove(identity(2))
    time.moment += timedelta(hours=1)
    ours.tunes.update(a_tune(2, kind="polka"))
    merge(ours, theirs.path)
    assert ours.tunes.all() == [a_tune(2, kind="polka")]
    assert len(ours.checks.all()) == 2
    ours.tunes.bring_back(identity(1))
    assert ours.tunes.get(identity(1)) == a_tune(1)


def test_a_tune_they_added_and_removed_does_not_come_back(
    ours: Repertoire, theirs: Repertoire
) -> None:
    theirs.tunes.add([a_tune(3)])
    theirs.checks.record(a_check(3, tune=3), None)
    theirs.tunes.remove(identity(3))
    assert merge(ours, theirs.path) == replace(NOTHING, checks_added=1)
    assert ours.tunes.all() == [a_tune(1), a_tune(2)]


def test_a_check_undone_in_either_is_undone(ours: Repertoire, theirs: Repertoire) -> None:
    ours.checks.withdraw(a_check(1).uuid, NOON, b"start")
    theirs.checks.withdraw(a_check(2).uuid, NOON, None)
    assert merge(ours, theirs.path) == replace(NOTHING, checks_withdrawn=1)
    assert ours.checks.all() == []
    assert ours.beliefs.all() == {identity(1): b"start"}


def test_a_round_ended_there_is_ended_here(ours: Repertoire, theirs: Repertoire) -> None:
    begun = Round("round", RoundKind.FIRST, DAY, NOON, 4.0)
    ours.rounds.begin(begun)
    theirs.rounds.begin(replace(begun, ended_at=NOON))
    merge(ours, theirs.path)
    assert ours.rounds.on(DAY) == [replace(begun, ended_at=NOON)]


def test_an_empty_repertoire_takes_everything(theirs: Repertoire, tmp_path: Path) -> None:
    with Repertoire.open(tmp_path / "new" / "new.tunes") as new:
        assert merge(new, theirs.path) == MergeReport(2, 0, 2, 0, 0, 1, 1, 1)
        assert new.tunes.all() == theirs.tunes.all()
        assert new.checks.all() == theirs.checks.all()


def test_ours_is_copied_first_and_theirs_is_not_changed(
    ours: Repertoire, theirs: Repertoire
) -> None:
    theirs.tunes.add([a_tune(3)])
    before = theirs.path.read_bytes()
    merge(ours, theirs.path)
    assert theirs.path.read_bytes() == before
    with Repertoire.open(folder_of(ours.path) / "mine-before-merge.tunes", readonly=True) as kept:
        assert kept.tunes.all() == [a_tune(1), a_tune(2)]
        assert kept.beliefs.all() == {identity(1): b"one", identity(2): b"two"}


def test_a_file_that_cannot_be_merged_changes_nothing(ours: Repertoire, tmp_path: Path) -> None:
    before = ours.path.read_bytes()
    text = tmp_path / "list.txt"
    text.write_text("The Heron on Post 1\n" * 100)
    with pytest.raises(NotOurs, match=r"list\.txt"):
        merge(ours, text)
    with pytest.raises(Unknown, match=r"none\.tunes"):
        merge(ours, tmp_path / "none.tunes")
    with pytest.raises(RepertoireError, match="this file itself"):
        merge(ours, ours.path)
    assert ours.path.read_bytes() == before
    assert not (tmp_path / "none.tunes").exists()


def test_a_damaged_file_is_not_merged(ours: Repertoire, tmp_path: Path) -> None:
    damaged = tmp_path / "damaged.tunes"
    shutil.copy(ours.path, damaged)
    with Repertoire.open(damaged) as other:
        other.tunes.add([a_tune(3)])
        other.connection.execute("PRAGMA foreign_keys = OFF")
        other.connection.execute("UPDATE levels SET check_id = 999 WHERE check_id = 1")
    before = ours.path.read_bytes()
    with pytest.raises(Damaged, match=r"damaged\.tunes is damaged \(row"):
        merge(ours, damaged)
    assert ours.path.read_bytes() == before


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


def test_a_merge_that_cannot_be_finished_leaves_nothing_and_can_be_tried_again(
    ours: Repertoire, theirs: Repertoire
) -> None:
    theirs.tunes.add([a_tune(3)])
    theirs.checks.record(a_check(3, tune=3), None)
    theirs.sets.save(a_set(1, (2, 1)))
    before = (ours.tunes.all(), ours.checks.all(), days(ours), ours.beliefs.all())
    with no_commit(ours), pytest.raises(RepertoireError):
        merge(ours, theirs.path)
    assert (ours.tunes.all(), ours.checks.all(), days(ours), ours.beliefs.all()) == before
    assert merge(ours, theirs.path) == replace(NOTHING, tunes_added=1, checks_added=1, sets_taken=1)
    assert verify(ours) == []
