from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.store.making import NOON, a_check, a_date, a_practice, a_tune, identity
from tunememory.recall.check import Level, Prompt, join_to
from tunememory.store.days import Sitting
from tunememory.store.errors import Damaged, RepertoireError, Unknown
from tunememory.store.records import At, Heard
from tunememory.store.repertoire import Repertoire

DAY = NOON.date()


@pytest.fixture
def kept(repertoire: Repertoire) -> Repertoire:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_date(a_date(1))
    return repertoire


PLAYED = a_practice(3, tune=2, way="", minutes=0.0, played_at=a_date(1).uuid)
FREE = a_practice(2, tune=0, way="", words="long bows\nwith the drone", head_only=True)


def test_entries_come_back_as_they_were_in_order_of_time(kept: Repertoire) -> None:
    kept.add_practice(PLAYED, None)
    kept.add_practice(FREE, None)
    kept.add_practice(a_practice(1), b"belief")
    assert kept.practices() == [a_practice(1), FREE, PLAYED]
    assert kept.practices(identity(2)) == [PLAYED]
    assert kept.beliefs() == {identity(1): b"belief"}
    assert kept.last_practised() == {identity(1): a_practice(1).at, identity(2): PLAYED.at}
    assert kept.practice_days() == [DAY]
    with pytest.raises(Unknown):
        kept.practices("nothing")


def test_entries_of_one_moment_come_as_they_were_written(kept: Repertoire) -> None:
    same = [a_practice(3, uuid=uuid) for uuid in ("b", "a", "c")]
    kept.add_practices(same)
    assert kept.practices() == same


def test_entries_of_some_days(kept: Repertoire) -> None:
    entries = [a_practice(n, day=DAY + timedelta(days=n)) for n in range(4)]
    kept.add_practices(entries)
    assert kept.practices(first_day=DAY + timedelta(days=1)) == entries[1:]
    assert kept.practices(None, DAY, DAY + timedelta(days=1)) == entries[:2]


def test_many_entries_drop_the_beliefs_of_their_tunes(kept: Repertoire) -> None:
    kept.save_beliefs({identity(1): b"one", identity(2): b"two"}, parameters_version=0)
    kept.add_practices([a_practice(1), FREE])
    assert kept.beliefs() == {identity(2): b"two"}


def test_an_entry_undone_no_longer_counts(kept: Repertoire) -> None:
    kept.add_practice(a_practice(1), b"after")
    kept.withdraw_practice(a_practice(1).uuid, NOON, b"before")
    assert kept.practices() == []
    assert kept.last_practised() == {}
    assert kept.practice_days() == []
    assert kept.beliefs() == {identity(1): b"before"}
    with pytest.raises(Unknown):
        kept.withdraw_practice(a_practice(1).uuid, NOON, None)


def test_an_entry_that_makes_no_sense_keeps_nothing(kept: Repertoire) -> None:
    for bad in (a_practice(1, minutes=-1.0), a_practice(1, tune=0, played_at=a_date(1).uuid)):
        with pytest.raises(RepertoireError):
            kept.add_practices([FREE, bad])
    with pytest.raises(Unknown):
        kept.add_practice(a_practice(1, tune=9), None)
    assert kept.practices() == []


def test_the_pick_up_line_of_a_day(kept: Repertoire) -> None:
    assert kept.last_pick_up(DAY) is None
    kept.save_pick_up(DAY, "B part: phrase 3")
    kept.save_pick_up(DAY + timedelta(days=3), "the whole of it, slowly")
    kept.save_pick_up(DAY, "B part: phrase 4")
    kept.save_pick_up(DAY + timedelta(days=4), "")
    assert kept.last_pick_up(DAY) is None
    assert kept.last_pick_up(DAY + timedelta(days=1)) == (DAY, "B part: phrase 4")
    assert list(kept.pick_ups()) == [DAY, DAY + timedelta(days=3)]
    assert list(kept.pick_ups(DAY + timedelta(days=1))) == [DAY + timedelta(days=3)]


HEARD = Heard(identity(1), DAY, "", "the box player", "like the Heron, but in G", "tape\n41")


def test_what_was_heard_gets_its_name_later(kept: Repertoire) -> None:
    second = Heard(identity(2), DAY, "The Egret")
    kept.save_heard(HEARD)
    kept.save_heard(second)
    kept.save_heard(Heard(identity(3), DAY - timedelta(days=9)))
    joined = replace(HEARD, name="Grey Wader", tune=identity(1))
    kept.save_heard(joined)
    assert kept.heard(DAY) == [joined, second]
    assert len(kept.heard()) == 3
    kept.remove_heard(second.uuid)
    assert kept.heard(DAY, DAY) == [joined]
    kept.remove_tune(identity(1))
    assert kept.heard(DAY) == [replace(joined, tune="")]
    with pytest.raises(Unknown):
        kept.remove_heard(second.uuid)


def test_a_sitting_stands_where_it_was_left(kept: Repertoire) -> None:
    assert kept.sitting(DAY) is None
    begun = Sitting(DAY, At.PRACTICE, head_only=True)
    kept.save_sitting(begun)
    assert kept.sitting(DAY) == begun
    over = Sitting(DAY, At.OVER, head_only=True, stopped=True, closed_at=NOON)
    kept.save_sitting(over)
    kept.save_sitting(Sitting(DAY + timedelta(days=1)))
    assert kept.sittings() == [over, Sitting(DAY + timedelta(days=1))]


def test_a_join_is_asked_apart_from_its_tune(kept: Repertoire) -> None:
    """The history of one tune's strands is not changed by what comes after it in a set."""
    join = a_check(2, prompt=Prompt.JOIN, levels=((join_to(identity(2)), Level.FIND),), seconds=4.0)
    kept.record(a_check(1), b"belief")
    rows = list(kept.check_rows())
    kept.record(join, None)
    assert kept.beliefs() == {identity(1): b"belief"}
    assert kept.join_checks() == [join]
    assert kept.checks() == [a_check(1), join]
    assert list(kept.check_rows()) == rows
    assert kept.last_checked() == {identity(1): a_check(1).at}
    kept.withdraw(join.uuid, NOON, None)
    assert kept.join_checks() == []
    kept.add_checks([a_check(3, prompt=Prompt.JOIN, levels=join.levels)])
    assert kept.beliefs() == {identity(1): b"belief"}
    assert kept.verify() == []


def test_joins_are_found_by_their_index(kept: Repertoire) -> None:
    plan = kept.connection.execute(
        "EXPLAIN QUERY PLAN SELECT * FROM checks WHERE withdrawn_at IS NULL AND prompt = 'join'"
        " ORDER BY at"
    ).fetchall()
    assert "checks_of_joins" in str(plan)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE practices SET day = '2026-99-99'",
        "UPDATE pick_ups SET day = '2026-99-99'",
        "UPDATE heard_lines SET day = '2026-99-99'",
        "UPDATE sittings SET day = '2026-99-99'",
    ],
)
def test_a_day_that_is_none_is_called_damage(kept: Repertoire, statement: str) -> None:
    kept.add_practice(a_practice(1), None)
    kept.save_pick_up(date(2026, 3, 14), "x")
    kept.save_heard(HEARD)
    kept.save_sitting(Sitting(DAY))
    kept.connection.execute(statement)
    assert any("is damaged" in line for line in kept.verify())
    with pytest.raises(Damaged):
        (kept.practices(), kept.pick_ups(), kept.heard(), kept.sittings())


def test_a_join_told_as_a_strand_is_found_by_the_check_of_the_file(kept: Repertoire) -> None:
    kept.record(a_check(1), None)
    kept.connection.execute("UPDATE checks SET prompt = 'join'")
    assert any("joins" in line for line in kept.verify())
