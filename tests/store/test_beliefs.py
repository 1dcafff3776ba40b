from dataclasses import replace

import pytest

from tests.store.making import NOON, a_tune, identity
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.records import ParameterSet
from tunememory.store.repertoire import Repertoire

FITTED = ParameterSet("fit-1", NOON, '{"gain": 0.5}', '{"checks": 300}')


def test_beliefs_are_kept_to_the_byte(repertoire: Repertoire) -> None:
    every = bytes(range(256))
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.beliefs.save({identity(1): every, identity(2): b""}, parameters_version=3)
    assert repertoire.beliefs.all() == {identity(1): every, identity(2): b""}
    assert repertoire.beliefs.version() == 3


def test_beliefs_of_one_version_are_added_to(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.beliefs.save({identity(1): b"a"}, parameters_version=3)
    repertoire.beliefs.save({identity(2): b"b"}, parameters_version=3)
    assert repertoire.beliefs.all() == {identity(1): b"a", identity(2): b"b"}


def test_beliefs_of_other_parameters_are_dropped(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.beliefs.save({identity(1): b"a", identity(2): b"b"}, parameters_version=0)
    repertoire.beliefs.save({identity(2): b"c"}, parameters_version=1)
    assert repertoire.beliefs.all() == {identity(2): b"c"}
    assert repertoire.beliefs.version() == 1


def test_a_belief_of_an_unknown_tune_changes_nothing(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1)])
    repertoire.beliefs.save({identity(1): b"a"}, parameters_version=0)
    with pytest.raises(Unknown):
        repertoire.beliefs.save({identity(1): b"z", "none": b"b"}, parameters_version=1)
    assert repertoire.beliefs.all() == {identity(1): b"a"}
    assert repertoire.beliefs.version() == 0


def test_a_new_file_was_never_given_beliefs_or_parameters(repertoire: Repertoire) -> None:
    assert repertoire.beliefs.all() == {}
    assert repertoire.beliefs.version() is None
    assert repertoire.parameters.all() == []


def test_every_parameter_set_stays_and_one_is_in_use(repertoire: Repertoire) -> None:
    second = replace(FITTED, uuid="fit-2", numbers="{}")
    tried = replace(FITTED, uuid="fit-3", active=False)
    assert [repertoire.parameters.add(made) for made in (FITTED, second, tried)] == [1, 2, 3]
    assert repertoire.parameters.all() == [
        replace(FITTED, version=1, active=False),
        replace(second, version=2),
        replace(tried, version=3),
    ]


def test_an_earlier_parameter_set_can_be_taken_up_again(repertoire: Repertoire) -> None:
    repertoire.parameters.add(FITTED)
    repertoire.parameters.add(replace(FITTED, uuid="fit-2"))
    repertoire.parameters.use(1)
    assert [made.active for made in repertoire.parameters.all()] == [True, False]
    with pytest.raises(Unknown):
        repertoire.parameters.use(9)
    assert [made.active for made in repertoire.parameters.all()] == [True, False]
    repertoire.parameters.use(None)
    assert [made.active for made in repertoire.parameters.all()] == [False, False]


def test_parameters_must_be_json_and_new(repertoire: Repertoire) -> None:
    with pytest.raises(ValueError, match="Expecting"):
        repertoire.parameters.add(replace(FITTED, numbers="gain = 0.5"))
    repertoire.parameters.add(FITTED)
    with pytest.raises(RepertoireError):
        repertoire.parameters.add(FITTED)
    assert repertoire.parameters.all() == [replace(FITTED, version=1)]
