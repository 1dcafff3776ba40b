from dataclasses import replace

import pytest

from tests.store.making import identity
from tunememory.store.errors import Unknown
from tunememory.store.records import ImportedRow
from tunememory.store.repertoire import Repertoire

ROW = ImportedRow(identity(1), "Ryan 1883", "12", "heron", "X:12\nT:Heron, The\tB\r\n", "abc")


def test_a_book_is_known_by_reference_and_title(kept: Repertoire) -> None:
    same_number = replace(ROW, tune=identity(2), folded="egret", hash="def")
    kept.imports.save(ROW)
    kept.imports.save(same_number)
    kept.imports.save(replace(ROW, book="Aird 1782"))
    assert kept.imports.of_book("Ryan 1883") == {("12", "heron"): ROW, ("12", "egret"): same_number}
    assert kept.imports.of_book("O'Neill 1907") == {}


def test_a_changed_text_takes_the_place_of_the_earlier(kept: Repertoire) -> None:
    changed = replace(ROW, raw="X:12\n", hash="new")
    kept.imports.save(ROW)
    kept.imports.save(changed)
    assert kept.imports.of_book("Ryan 1883") == {("12", "heron"): changed}
    assert kept.imports.by_hash("abc") is None


def test_a_text_is_found_in_any_book_and_a_present_tune_first(kept: Repertoire) -> None:
    kept.imports.save(ROW)
    kept.imports.save(replace(ROW, tune=identity(2), book="Aird 1782"))
    kept.tunes.remove(identity(1))
    found = kept.imports.by_hash("abc")
    assert found is not None
    assert found.tune == identity(2)
    assert kept.imports.of_book("Ryan 1883") == {("12", "heron"): replace(ROW, removed=True)}


def test_an_unknown_tune_is_not_remembered(kept: Repertoire) -> None:
    with pytest.raises(Unknown):
        kept.imports.save(replace(ROW, tune="none"))
    assert kept.imports.by_hash("abc") is None
