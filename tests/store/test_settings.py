import pytest

from tunememory.store.repertoire import Repertoire


def test_settings_are_kept_by_name(repertoire: Repertoire) -> None:
    assert repertoire.settings.all() == {}
    repertoire.settings.save({"minutes": "6", "theme": '"paper"'})
    repertoire.settings.save({"minutes": "8.5"})
    assert repertoire.settings.all() == {"minutes": "8.5", "theme": '"paper"'}


def test_a_value_that_is_not_json_saves_nothing(repertoire: Repertoire) -> None:
    with pytest.raises(ValueError, match="Expecting"):
        repertoire.settings.save({"minutes": "6", "theme": "paper"})
    assert repertoire.settings.all() == {}
