from dataclasses import replace

import pytest

from tests.store.making import NOON, a_tune, identity
from tunememory.store.beliefs import ParameterSet
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.repertoire import Repertoire

FITTED = ParameterSet("fit-1", NOON, '{"gain": 0.5}', '{"checks": 300}')


def test_beliefs_are_kept_to_the_byte(repertoire: Repertoire) -> None:
    every = bytes(range(256))
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_beliefs({identity(1): every, identity(2): b""}, parameters_version=3)
    assert repertoire.beliefs() == {identity(1): every, identity(2): b""}
    assert repertoire.beliefs_version() == 3


def test_beliefs_of_one_version_are_added_to(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_beliefs({identity(1): b"a"}, parameters_version=3)
    repertoire.save_beliefs({identity(2): b"b"}, parameters_version=3)
    assert repertoire.beliefs() == {identity(1): b"a", identity(2): b"b"}


def test_beliefs_of_other_parameters_are_dropped(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    repertoire.save_beliefs({identity(1): b"a", identity(2): b"b"}, parameters_version=0)
    repertoire.save_beliefs({identity(2): b"c"}, parameters_version=1)
    assert repertoire.beliefs() == {identity(2): b"c"}
    assert repertoire.beliefs_version() == 1


def test_a_belief_of_an_unknown_tune_changes_nothing(repertoire: Repertoire) -> None:
    repertoire.add_tunes([a_tune(1)])
    repertoire.save_beliefs({identity(1): b"a"}, parameters_version=0)
    with pytest.raises(Unknown):
        repertoire.save_beliefs({identity(1): b"z", "none": b"b"}, parameters_version=1)
    assert repertoire.beliefs() == {identity(1): b"a"}
    assert repertoire.beliefs_version() == 0


def test_a_new_file_was_never_given_beliefs_or_parameters(repertoire: Repertoire) -> None:
    assert repertoire.beliefs() == {}
    assert repertoire.beliefs_version() is None
    assert repertoire.parameters() == []


def test_every_parameter_set_stays_and_one_is_in_use(repertoire: Repertoire) -> None:
    second = replace(FITTED, uuid="fit-2", numbers="{}")
    tried = replace(FITTED, uuid="fit-3", active=False)
    assert [repertoire.add_parameters(made) for made in (FITTED, second, tried)] == [1, 2, 3]
    assert repertoire.parameters() == [
        replace(FITTED, version=1, active=False),
        replace(second, version=2),
        replace(tried, version=3),
    ]


def test_an_earlier_parameter_set_can_be_taken_up_again(repertoire: Repertoire) -> None:
    repertoire.add_parameters(FITTED)
    repertoire.add_parameters(replace(FITTED, uuid="fit-2"))
    repertoire.use_parameters(1)
    assert [made.active for made in repertoire.parameters()] == [True, False]
    with pytest.raises(Unknown):
        repertoire.use_parameters(9)
    assert [made.active for made in repertoire.parameters()] == [True, False]
    repertoire.use_parameters(None)
    assert [made.active for made in repertoire.parameters()] == [False, False]


def test_parameters_must_be_json_and_new(repertoire: Repertoire) -> None:
    with pytest.raises(ValueError, match="Expecting"):
        repertoire.add_parameters(replace(FITTED, numbers="gain = 0.5"))
    repertoire.add_parameters(FITTED)
    with pytest.raises(RepertoireError):
        repertoire.add_parameters(FITTED)
    assert repertoire.parameters() == [replace(FITTED, version=1)]
