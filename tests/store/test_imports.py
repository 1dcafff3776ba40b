from dataclasses import replace

import pytest

from tests.store.making import a_tune, identity
from tunememory.store.errors import Unknown
from tunememory.store.repertoire import Repertoire
from tunememory.store.tunes import ImportedRow

ROW = ImportedRow(identity(1), "Ryan 1883", "12", "heron", "X:12\nT:Heron, The\tB\r\n", "abc")


@pytest.fixture
def kept(repertoire: Repertoire) -> Repertoire:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    return repertoire


def test_a_book_is_known_by_reference_and_title(kept: Repertoire) -> None:
    same_number = replace(ROW, tune=identity(2), folded="egret", hash="def")
    kept.remember_import(ROW)
    kept.remember_import(same_number)
    kept.remember_import(replace(ROW, book="Aird 1782"))
    assert kept.imported("Ryan 1883") == {("12", "heron"): ROW, ("12", "egret"): same_number}
    assert kept.imported("O'Neill 1907") == {}


def test_a_changed_text_takes_the_place_of_the_earlier(kept: Repertoire) -> None:
    changed = replace(ROW, raw="X:12\n", hash="new")
    kept.remember_import(ROW)
    kept.remember_import(changed)
    assert kept.imported("Ryan 1883") == {("12", "heron"): changed}
    assert kept.by_hash("abc") is None


def test_a_text_is_found_in_any_book_and_a_present_tune_first(kept: Repertoire) -> None:
    kept.remember_import(ROW)
    kept.remember_import(replace(ROW, tune=identity(2), book="Aird 1782"))
    kept.remove_tune(identity(1))
    found = kept.by_hash("abc")
    assert found is not None
    assert found.tune == identity(2)
    assert kept.imported("Ryan 1883") == {("12", "heron"): replace(ROW, removed=True)}


def test_an_unknown_tune_is_not_remembered(kept: Repertoire) -> None:
    with pytest.raises(Unknown):
        kept.remember_import(replace(ROW, tune="none"))
    assert kept.by_hash("abc") is None
