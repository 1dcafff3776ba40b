"""The focus of the plan follows from the file's own checks and is kept there."""

import json
import shutil

import pytest

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import fixed_clock
from tunememory.forecast import own_parameters
from tunememory.forecast.how_well import how_well_guessed
from tunememory.forecast.own_parameters import (
    BEGIN,
    BOLD,
    DOUBTFUL,
    EVEN,
    FIRST_LOOK,
    HARDLY,
    LEAST,
    PATIENCE,
    SURE,
    focus_for,
    next_look,
)
from tunememory.session import in_force, last_look, open_session


@pytest.mark.parametrize(
    ("sharp", "checks", "in_use", "expected"),
    [
        (SURE + 1, FIRST_LOOK, BEGIN, BOLD),
        (SURE + 1, 5000, EVEN, BOLD),
        (HARDLY + 1, LEAST, BOLD, BOLD),
        (HARDLY - 1, LEAST, BOLD, EVEN),
        (DOUBTFUL - 1, LEAST, BEGIN, EVEN),
        (DOUBTFUL - 1, LEAST - 1, BEGIN, BEGIN),
        (DOUBTFUL + 1, PATIENCE, BEGIN, BEGIN),
        (DOUBTFUL + 1, PATIENCE + 1, BEGIN, EVEN),
    ],
)
def test_focus_follows_how_sharp_memory_is(sharp, checks, in_use, expected) -> None:
    assert focus_for(sharp, checks, in_use) == expected


def test_a_look_is_due_with_some_checks_and_then_with_a_share_more() -> None:
    assert next_look(0) == FIRST_LOOK
    assert 1050 < next_look(1000) < 1150


@pytest.fixture
def saltpan(saltpan_unlearned, tmp_path):
    path = tmp_path / "own.tunes"
    shutil.copy(saltpan_unlearned, path)
    with open_session(path, fixed_clock(SALTPAN_NOW)) as session:
        yield session


def test_a_new_file_plans_as_one_begins_and_needs_checks_for_more(session) -> None:
    assert session.params.focus == BEGIN
    assert not own_parameters.look_is_due(session)


@pytest.mark.parametrize(("sharp", "focus"), [(9.0, BOLD), (-9.0, EVEN)])
def test_what_the_checks_say_is_used_and_stays(saltpan, monkeypatch, sharp, focus) -> None:
    monkeypatch.setattr(
        "tunememory.forecast.own_parameters.sharpness", lambda entries, histories: sharp
    )
    assert saltpan.repertoire.checks.count() >= FIRST_LOOK
    assert own_parameters.look_is_due(saltpan)
    assert own_parameters.look(saltpan) == focus
    assert saltpan.params.focus == focus
    assert not own_parameters.look_is_due(saltpan)
    with open_session(saltpan.path, fixed_clock(SALTPAN_NOW)) as again:
        assert again.params.focus == focus


def test_the_look_itself_reads_the_whole_history(saltpan) -> None:
    own_parameters.look(saltpan)
    kept = last_look(saltpan.repertoire)
    assert kept[own_parameters.LOOKED_AT] == saltpan.repertoire.checks.count()
    assert kept["leaning"] != 0.0


def test_a_look_is_no_fit_and_changes_no_chance(saltpan) -> None:
    before = how_well_guessed(saltpan)
    own_parameters.look(saltpan)
    assert how_well_guessed(saltpan) == before
    assert len(in_force(saltpan.repertoire)) == 1
    assert own_parameters.guessed_with(saltpan).fitted_on is None
    assert own_parameters.fit_is_due(saltpan)


def test_a_fit_taken_later_keeps_the_focus(saltpan, monkeypatch) -> None:
    monkeypatch.setattr(
        "tunememory.forecast.own_parameters.sharpness", lambda entries, histories: 9.0
    )
    own_parameters.look(saltpan)
    own_parameters.try_fit(saltpan)
    assert saltpan.params.focus == BOLD


def test_every_look_keeps_what_it_rests_on(saltpan) -> None:
    own_parameters.look(saltpan)
    kept = [one for one in saltpan.repertoire.parameters.all() if not one.active]
    assert json.loads(kept[-1].evidence).keys() == {"focus", "looked_at_checks", "leaning"}


def test_the_words_differ() -> None:
    assert len({own_parameters.focus_words(focus) for focus in (EVEN, BEGIN, BOLD)}) == 3
