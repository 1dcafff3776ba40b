from pathlib import Path

import pytest

from tests.store.making import a_tune, identity
from tunememory.store.errors import Unknown
from tunememory.store.records import TwinRow
from tunememory.store.repertoire import Repertoire


def pair(one: int, other: int) -> list[TwinRow]:
    return [
        TwinRow(identity(one), "A", identity(other), "B", 0.05, 5),
        TwinRow(identity(other), "B", identity(one), "A", 0.05, 6),
    ]


def test_tunes_are_compared_once(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2), a_tune(3)])
    assert repertoire.twins.not_compared([identity(3), identity(1), "gone"]) == [
        identity(1),
        identity(3),
    ]
    assert repertoire.twins.not_compared([]) == []
    assert repertoire.twins.not_compared() == [identity(1), identity(2), identity(3)]
    repertoire.twins.save([identity(n) for n in (1, 2, 3)], pair(1, 2))
    assert repertoire.twins.not_compared() == []
    assert sorted(repertoire.twins.all(), key=lambda row: row.tune) == pair(1, 2)


def test_an_edited_tune_has_to_be_compared_again(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.twins.save([identity(1), identity(2)], pair(1, 2))
    repertoire.tunes.update(a_tune(2, kind="jig"))
    assert repertoire.twins.not_compared() == [identity(2)]
    assert repertoire.twins.all() == []
    repertoire.twins.save([identity(2)], [])
    assert repertoire.twins.all() == []


def test_a_change_that_leaves_the_music_leaves_the_twins(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2), a_tune(3)])
    repertoire.twins.save([identity(1), identity(2)], pair(1, 2))
    repertoire.tunes.update(a_tune(2, kind="jig"))
    repertoire.twins.hold(identity(2))
    assert repertoire.twins.not_compared() == [identity(3)]
    assert sorted(repertoire.twins.all(), key=lambda row: row.tune) == pair(1, 2)
    # What never was compared does not become so.
    repertoire.twins.hold(identity(3))
    assert repertoire.twins.not_compared() == [identity(3)]


def test_a_removed_tune_is_nobodys_twin(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.twins.save([identity(1), identity(2)], pair(1, 2))
    repertoire.tunes.remove(identity(1))
    assert repertoire.twins.all() == []
    assert repertoire.twins.not_compared() == []


def test_twins_of_an_unknown_tune_keep_nothing(repertoire: Repertoire, tmp_path: Path) -> None:
    repertoire.tunes.add([a_tune(1)])
    with pytest.raises(Unknown):
        repertoire.twins.save([identity(1)], pair(1, 9))
    assert repertoire.twins.not_compared() == [identity(1)]
