from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.store.making import DAY, NOON, a_tune, identity
from tunememory.music.strings import STANDARD
from tunememory.recall.check import RoundKind
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.records import Round
from tunememory.store.repertoire import Repertoire

FIRST = Round("first", RoundKind.FIRST, DAY, NOON, 6.5, STANDARD)


def test_rounds_of_a_day_come_in_the_order_they_were_begun(repertoire: Repertoire) -> None:
    last = Round("last", RoundKind.LAST, DAY, NOON + timedelta(hours=1), 4.0)
    other_day = Round("other", RoundKind.LOOSE, date(2026, 3, 13), NOON, 4.0)
    for begun in (last, FIRST, other_day):
        repertoire.rounds.begin(begun)
    assert repertoire.rounds.on(DAY) == [FIRST, last]
    assert repertoire.rounds.on(date(2020, 1, 1)) == []


def test_rounds_begun_at_one_moment_come_as_they_were_written(repertoire: Repertoire) -> None:
    same = [replace(FIRST, uuid=uuid) for uuid in ("b", "a", "c")]
    for begun in same:
        repertoire.rounds.begin(begun)
    assert repertoire.rounds.on(DAY) == same


def test_a_round_is_ended(repertoire: Repertoire) -> None:
    repertoire.rounds.begin(FIRST)
    ended = NOON + timedelta(minutes=7)
    repertoire.rounds.end("first", ended)
    assert repertoire.rounds.on(DAY) == [replace(FIRST, ended_at=ended)]
    with pytest.raises(Unknown):
        repertoire.rounds.end("none", ended)


def test_a_round_kept_with_its_end_comes_back_whole(repertoire: Repertoire) -> None:
    whole = replace(FIRST, ended_at=NOON)
    repertoire.rounds.begin(whole)
    assert repertoire.rounds.on(DAY) == [whole]
    with pytest.raises(RepertoireError):
        repertoire.rounds.begin(whole)


def test_a_tune_is_put_off_for_one_day(repertoire: Repertoire) -> None:
    repertoire.tunes.add([a_tune(1), a_tune(2)])
    repertoire.rounds.put_off(identity(1), DAY)
    repertoire.rounds.put_off(identity(1), DAY)
    assert repertoire.rounds.put_off_on(DAY) == {identity(1)}
    assert repertoire.rounds.put_off_on(date(2026, 3, 15)) == set()
    with pytest.raises(Unknown):
        repertoire.rounds.put_off("none", DAY)
