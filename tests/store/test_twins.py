from pathlib import Path

import pytest

from tests.store.making import a_tune, identity
from tunememory.store.errors import Unknown
from tunememory.store.repertoire import Repertoire
from tunememory.store.tunes import TwinRow


def pair(one: int, other: int) -> list[TwinRow]:
    return [
        TwinRow(identity(one), "A", identity(other), "B", 0.05, 5),
        TwinRow(identity(other), "B", identity(one), "A", 0.05, 6),
    ]


def test_tunes_are_compared_once(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1), a_tune(2), a_tune(3)])
    assert repertoire.not_compared([identity(3), identity(1), "gone"]) == [identity(1), identity(3)]
    assert repertoire.not_compared([]) == []
    assert repertoire.not_compared() == [identity(1), identity(2), identity(3)]
    repertoire.save_twins([identity(n) for n in (1, 2, 3)], pair(1, 2))
    assert repertoire.not_compared() == []
    assert sorted(repertoire.twins(), key=lambda row: row.tune) == pair(1, 2)


def test_an_edited_tune_has_to_be_compared_again(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_twins([identity(1), identity(2)], pair(1, 2))
    repertoire.update_tune(a_tune(2, kind="jig"))
    assert repertoire.not_compared() == [identity(2)]
    assert repertoire.twins() == []
    repertoire.save_twins([identity(2)], [])
    assert repertoire.twins() == []


def test_a_change_that_leaves_the_music_leaves_the_twins(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1), a_tune(2), a_tune(3)])
    repertoire.save_twins([identity(1), identity(2)], pair(1, 2))
    repertoire.update_tune(a_tune(2, kind="jig"))
    repertoire.twins_hold(identity(2))
    assert repertoire.not_compared() == [identity(3)]
    assert sorted(repertoire.twins(), key=lambda row: row.tune) == pair(1, 2)
    # What never was compared does not become so.
    repertoire.twins_hold(identity(3))
    assert repertoire.not_compared() == [identity(3)]


def test_a_removed_tune_is_nobodys_twin(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_twins([identity(1), identity(2)], pair(1, 2))
    repertoire.remove_tune(identity(1))
    assert repertoire.twins() == []
    assert repertoire.not_compared() == []


def test_twins_of_an_unknown_tune_keep_nothing(repertoire: Repertoire, tmp_path: Path) -> None:
    repertoire.add_tunes([a_tune(1)])
    with pytest.raises(Unknown):
        repertoire.save_twins([identity(1)], pair(1, 9))
    assert repertoire.not_compared() == [identity(1)]
