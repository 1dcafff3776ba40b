from dataclasses import replace
from datetime import timedelta

import pytest

from tests.store.making import DAY, NOON, a_check, a_date, a_practice, identity
from tunememory.recall.check import Level, Prompt, join_to
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.records import At, Heard, Sitting
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify


@pytest.fixture
def kept(kept: Repertoire) -> Repertoire:
    kept.dates.save(a_date(1))
    return kept


PLAYED = a_practice(3, tune=2, way="", minutes=0.0, played_at=a_date(1).uuid)
FREE = a_practice(2, tune=0, way="", words="long bows\nwith the drone", head_only=True)


def test_entries_come_back_as_they_were_in_order_of_time(kept: Repertoire) -> None:
    kept.practices.record(PLAYED, None)
    kept.practices.record(FREE, None)
    kept.practices.record(a_practice(1), b"belief")
    assert kept.practices.all() == [a_practice(1), FREE, PLAYED]
    assert kept.practices.all(identity(2)) == [PLAYED]
    assert kept.beliefs.all() == {identity(1): b"belief"}
    assert kept.practices.last_by_tune() == {identity(1): a_practice(1).at, identity(2): PLAYED.at}
    assert kept.sittings.practice_days() == [DAY]
    with pytest.raises(Unknown):
        kept.practices.all("nothing")


def test_entries_of_one_moment_come_as_they_were_written(kept: Repertoire) -> None:
    same = [a_practice(3, uuid=uuid) for uuid in ("b", "a", "c")]
    kept.practices.add(same)
    assert kept.practices.all() == same


def test_entries_of_some_days(kept: Repertoire) -> None:
    entries = [a_practice(n, day=DAY + timedelta(days=n)) for n in range(4)]
    kept.practices.add(entries)
    assert kept.practices.all(first_day=DAY + timedelta(days=1)) == entries[1:]
    assert kept.practices.all(None, DAY, DAY + timedelta(days=1)) == entries[:2]


def test_many_entries_drop_the_beliefs_of_their_tunes(kept: Repertoire) -> None:
    kept.beliefs.save({identity(1): b"one", identity(2): b"two"}, parameters_version=0)
    kept.practices.add([a_practice(1), FREE])
    assert kept.beliefs.all() == {identity(2): b"two"}


def test_an_entry_undone_no_longer_counts(kept: Repertoire) -> None:
    kept.practices.record(a_practice(1), b"after")
    kept.practices.withdraw(a_practice(1).uuid, NOON, b"before")
    assert kept.practices.all() == []
    assert kept.practices.last_by_tune() == {}
    assert kept.sittings.practice_days() == []
    assert kept.beliefs.all() == {identity(1): b"before"}
    with pytest.raises(Unknown):
        kept.practices.withdraw(a_practice(1).uuid, NOON, None)


def test_an_entry_that_makes_no_sense_keeps_nothing(kept: Repertoire) -> None:
    for bad in (a_practice(1, minutes=-1.0), a_practice(1, tune=0, played_at=a_date(1).uuid)):
        with pytest.raises(RepertoireError):
            kept.practices.add([FREE, bad])
    with pytest.raises(Unknown):
        kept.practices.record(a_practice(1, tune=9), None)
    assert kept.practices.all() == []


def test_the_pick_up_line_of_a_day(kept: Repertoire) -> None:
    assert kept.pick_ups.last(DAY) is None
    kept.pick_ups.save(DAY, "B part: phrase 3")
    kept.pick_ups.save(DAY + timedelta(days=3), "the whole of it, slowly")
    kept.pick_ups.save(DAY, "B part: phrase 4")
    kept.pick_ups.save(DAY + timedelta(days=4), "")
    assert kept.pick_ups.last(DAY) is None
    assert kept.pick_ups.last(DAY + timedelta(days=1)) == (DAY, "B part: phrase 4")
    assert list(kept.pick_ups.all()) == [DAY, DAY + timedelta(days=3)]
    assert list(kept.pick_ups.all(DAY + timedelta(days=1))) == [DAY + timedelta(days=3)]


HEARD = Heard(identity(1), DAY, "", "the box player", "like the Heron, but in G", "tape\n41")


def test_what_was_heard_gets_its_name_later(kept: Repertoire) -> None:
    second = Heard(identity(2), DAY, "The Egret")
    kept.heard.save(HEARD)
    kept.heard.save(second)
    kept.heard.save(Heard(identity(3), DAY - timedelta(days=9)))
    joined = replace(HEARD, name="Grey Wader", tune=identity(1))
    kept.heard.save(joined)
    assert kept.heard.all(DAY) == [joined, second]
    assert len(kept.heard.all()) == 3
    kept.heard.remove(second.uuid)
    assert kept.heard.all(DAY, DAY) == [joined]
    kept.tunes.remove(identity(1))
    assert kept.heard.all(DAY) == [replace(joined, tune="")]
    with pytest.raises(Unknown):
        kept.heard.remove(second.uuid)


def test_a_sitting_stands_where_it_was_left(kept: Repertoire) -> None:
    assert kept.sittings.on(DAY) is None
    begun = Sitting(DAY, At.PRACTICE, head_only=True)
    kept.sittings.save(begun)
    assert kept.sittings.on(DAY) == begun
    over = Sitting(DAY, At.OVER, head_only=True, stopped=True, closed_at=NOON)
    kept.sittings.save(over)
    kept.sittings.save(Sitting(DAY + timedelta(days=1)))
    assert kept.sittings.all() == [over, Sitting(DAY + timedelta(days=1))]


def test_a_join_is_asked_apart_from_its_tune(kept: Repertoire) -> None:
    """The history of one tune's strands is not changed by what comes after it in a set."""
    join = a_check(2, prompt=Prompt.JOIN, levels=((join_to(identity(2)), Level.FIND),), seconds=4.0)
    kept.checks.record(a_check(1), b"belief")
    kept.checks.record(join, None)
    assert kept.beliefs.all() == {identity(1): b"belief"}
    assert kept.checks.of_joins() == [join]
    assert kept.checks.all() == [a_check(1), join]
    assert kept.checks.last_by_tune() == {identity(1): a_check(1).at}
    kept.checks.withdraw(join.uuid, NOON, None)
    assert kept.checks.of_joins() == []
    kept.checks.add([a_check(3, prompt=Prompt.JOIN, levels=join.levels)])
    assert kept.beliefs.all() == {identity(1): b"belief"}
    assert verify(kept) == []


def test_joins_are_found_by_their_index(kept: Repertoire) -> None:
    plan = kept.connection.execute(
        "EXPLAIN QUERY PLAN SELECT * FROM checks WHERE withdrawn_at IS NULL AND prompt = 'join'"
        " ORDER BY at"
    ).fetchall()
    assert "checks_of_joins" in str(plan)


def test_a_join_told_as_a_strand_is_found_by_the_check_of_the_file(kept: Repertoire) -> None:
    kept.checks.record(a_check(1), None)
    kept.connection.execute("UPDATE checks SET prompt = 'join'")
    assert any("joins" in line for line in verify(kept))
