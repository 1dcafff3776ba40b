"""How boldly to plan is looked up in the file's own checks and kept there."""

import json
import shutil

import pytest

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import fixed_clock
from tunememory.forecast import fitting
from tunememory.forecast.fitting import BEGIN, BOLD, EVEN, FIRST_LOOK
from tunememory.forecast.how_well import how_well_guessed
from tunememory.session import in_force, last_look, open_session


@pytest.fixture
def saltpan(saltpan_unlearned, tmp_path):
    path = tmp_path / "own.tunes"
    shutil.copy(saltpan_unlearned, path)
    with open_session(path, fixed_clock(SALTPAN_NOW)) as session:
        yield session


def test_a_new_file_plans_as_one_begins_and_needs_checks_for_more(session) -> None:
    assert session.params.focus == BEGIN
    assert not fitting.focus_is_due(session)


@pytest.mark.parametrize(("leaning", "focus"), [(9.0, BOLD), (-9.0, EVEN)])
def test_what_the_checks_say_is_used_and_stays(saltpan, monkeypatch, leaning, focus) -> None:
    monkeypatch.setattr("tunememory.recall.fitting.leaning", lambda entries, histories: leaning)
    assert saltpan.repertoire.checks.count() >= FIRST_LOOK
    assert fitting.focus_is_due(saltpan)
    assert fitting.look(saltpan) == focus
    assert saltpan.params.focus == focus
    assert not fitting.focus_is_due(saltpan)
    with open_session(saltpan.path, fixed_clock(SALTPAN_NOW)) as again:
        assert again.params.focus == focus


def test_the_look_itself_reads_the_whole_history(saltpan) -> None:
    fitting.look(saltpan)
    kept = last_look(saltpan.repertoire)
    assert kept[fitting.LOOKED_AT] == saltpan.repertoire.checks.count()
    assert kept["leaning"] != 0.0


def test_a_look_is_no_fit_and_changes_no_chance(saltpan) -> None:
    before = how_well_guessed(saltpan)
    fitting.look(saltpan)
    assert how_well_guessed(saltpan) == before
    assert len(in_force(saltpan.repertoire)) == 1
    assert fitting.guessed_with(saltpan).fitted_on is None
    assert fitting.is_due(saltpan)


def test_a_fit_taken_later_keeps_the_boldness(saltpan, monkeypatch) -> None:
    monkeypatch.setattr("tunememory.recall.fitting.leaning", lambda entries, histories: 9.0)
    fitting.look(saltpan)
    fitting.try_fit(saltpan)
    assert saltpan.params.focus == BOLD


def test_every_look_keeps_what_it_rests_on(saltpan) -> None:
    fitting.look(saltpan)
    kept = [one for one in saltpan.repertoire.parameters.all() if not one.active]
    assert json.loads(kept[-1].evidence).keys() == {"focus", "looked_at_checks", "leaning"}


def test_the_words_differ() -> None:
    assert len({fitting.words(focus) for focus in (EVEN, BEGIN, BOLD)}) == 3
