from dataclasses import replace
from datetime import date

import pytest

from tests.store.making import A_DAY_OFF, a_date, a_set, a_tune, identity
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.repertoire import Repertoire


@pytest.fixture
def kept(kept: Repertoire) -> Repertoire:
    kept.tunes.add([a_tune(3)])
    return kept


def test_a_set_comes_back_in_its_order_even_with_a_tune_twice(kept: Repertoire) -> None:
    sets = [a_set(1, (3, 1, 3)), a_set(2, (2,), name=""), a_set(3, ())]
    for one in sets:
        kept.sets.save(one)
    assert kept.sets.all() == sets


def test_a_set_is_edited_whole(kept: Repertoire) -> None:
    kept.sets.save(a_set(1, (3, 1, 2)))
    kept.sets.save(a_set(1, (2, 3), name="High Tide"))
    assert kept.sets.all() == [a_set(1, (2, 3), name="High Tide")]


def test_a_removed_set_is_gone_from_dates_and_comes_back_when_saved(kept: Repertoire) -> None:
    kept.sets.save(a_set(1))
    kept.dates.save(a_date(1, sets=(1,)))
    kept.sets.remove(a_set(1).uuid)
    assert kept.sets.all() == []
    assert kept.dates.all() == [a_date(1)]
    with pytest.raises(Unknown):
        kept.sets.remove(a_set(1).uuid)
    kept.sets.save(a_set(1))
    assert kept.dates.all() == [a_date(1, sets=(1,))]


def test_a_removed_tune_leaves_its_sets_and_dates_and_returns_to_its_place(
    kept: Repertoire,
) -> None:
    kept.sets.save(a_set(1, (3, 1, 2)))
    kept.dates.save(a_date(1, tunes=(2, 1)))
    kept.tunes.remove(identity(1))
    assert kept.sets.all() == [a_set(1, (3, 2))]
    assert kept.dates.all() == [a_date(1, tunes=(2,))]
    kept.tunes.bring_back(identity(1))
    assert kept.sets.all() == [a_set(1, (3, 1, 2))]


def test_a_date_comes_back_as_it_was(kept: Repertoire) -> None:
    kept.sets.save(a_set(1))
    dates = [
        a_date(1, tunes=(3, 1), sets=(1,)),
        a_date(2, rule="", except_days=(), kind="", place="", weeks_before=0),
    ]
    for one in dates:
        kept.dates.save(one)
    assert kept.dates.all() == dates
    changed = replace(dates[0], title="Late session", except_days=(), tunes=(), sets=())
    kept.dates.save(changed)
    assert kept.dates.all() == [changed, dates[1]]
    kept.dates.remove(changed.uuid)
    assert kept.dates.all() == [dates[1]]
    with pytest.raises(Unknown):
        kept.dates.remove(changed.uuid)


def test_a_date_of_an_unknown_tune_or_set_keeps_nothing(kept: Repertoire) -> None:
    with pytest.raises(Unknown, match="no set"):
        kept.dates.save(a_date(1, sets=(9,)))
    with pytest.raises(Unknown, match="no tune"):
        kept.dates.save(a_date(1, tunes=(9,)))
    with pytest.raises(Unknown, match="no tune"):
        kept.sets.save(a_set(1, (1, 9)))
    with pytest.raises(RepertoireError, match="does not take"):
        kept.dates.save(a_date(1, title=""))
    assert kept.dates.all() == []
    assert kept.sets.all() == []


def test_it_is_remembered_of_which_dates_the_player_has_told(kept: Repertoire) -> None:
    kept.dates.save(a_date(1))
    day = date(2026, 3, 19)
    for _ in range(2):
        kept.dates.answer(a_date(1).uuid, day)
    assert kept.dates.answered() == {(a_date(1).uuid, day)}
    with pytest.raises(Unknown):
        kept.dates.answer("nothing", day)


def test_days_off_by_stretch_and_by_rule(repertoire: Repertoire) -> None:
    sundays = replace(
        A_DAY_OFF, uuid=identity(5_000_002), rule="FREQ=WEEKLY;BYDAY=SU", note="",
        first_day=date(2026, 3, 1), last_day=date(2026, 3, 1),
    )  # fmt: skip
    repertoire.days_off.save(A_DAY_OFF)
    repertoire.days_off.save(sundays)
    assert repertoire.days_off.all() == [sundays, A_DAY_OFF]
    repertoire.days_off.save(replace(A_DAY_OFF, note="the sea"))
    assert repertoire.days_off.all()[1].note == "the sea"
    repertoire.days_off.remove(sundays.uuid)
    assert [off.note for off in repertoire.days_off.all()] == ["the sea"]
    with pytest.raises(Unknown):
        repertoire.days_off.remove(sundays.uuid)


def test_hostile_text_is_cleaned_when_read(kept: Repertoire) -> None:
    kept.sets.save(a_set(1))
    kept.dates.save(a_date(1))
    kept.connection.execute("UPDATE sets SET name = ?", ("\x1b[2Jlow\u202e tide",))
    kept.connection.execute("UPDATE dates SET title = ?, location = ?", ("\x07a", "\x9bb"))
    assert kept.sets.all()[0].name == "[2Jlow tide"
    assert (kept.dates.all()[0].title, kept.dates.all()[0].place) == ("a", "b")
