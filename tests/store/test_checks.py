from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from tests.store.making import NOON, a_check, identity
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.records import Round
from tunememory.store.repertoire import Repertoire
from tunememory.store.verify import verify

FULL = a_check(
    7,
    tune=2,
    round_kind=RoundKind.LAST,
    prompt=Prompt.WHAT,
    levels=(("name", Level.JOIN_IN),),
    seconds=None,
    hints=4,
    wrong_key=True,
    strayed_into=identity(1),
    round_uuid="round",
)
ROUND = Round("round", RoundKind.LAST, date(2026, 3, 14), NOON, 4.0)


def test_a_check_comes_back_as_it_was(kept: Repertoire) -> None:
    kept.rounds.begin(ROUND)
    kept.checks.record(FULL, b"\x00belief")
    kept.checks.record(a_check(1), b"other")
    assert kept.checks.all() == [a_check(1), FULL]
    assert kept.beliefs.all() == {identity(2): b"\x00belief", identity(1): b"other"}


def test_a_later_belief_takes_the_place_of_the_earlier(kept: Repertoire) -> None:
    kept.checks.record(a_check(1), b"first")
    kept.checks.record(a_check(2), b"second")
    assert kept.beliefs.all() == {identity(1): b"second"}


def test_a_check_without_a_belief_leaves_none_behind(kept: Repertoire) -> None:
    kept.checks.record(a_check(1), b"first")
    kept.checks.record(a_check(2), None)
    assert kept.beliefs.all() == {}


def test_order_is_by_moment_then_as_they_were_written(kept: Repertoire) -> None:
    same = [a_check(3, uuid="b"), a_check(3, uuid="a"), a_check(1), a_check(3, uuid="c")]
    kept.checks.add(same)
    order = [a_check(1).uuid, "b", "a", "c"]
    assert [check.uuid for check in kept.checks.all()] == order
    assert [check.uuid for check in kept.checks.recent(3)] == ["c", "a", "b"]


def test_moments_are_kept_in_utc_to_the_microsecond(kept: Repertoire) -> None:
    at = datetime(2026, 3, 14, 1, 2, 3, 4, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    kept.checks.record(a_check(1, at=at), None)
    (check,) = kept.checks.all()
    assert check.at == at
    assert check.at.tzinfo == UTC
    text = kept.connection.execute("SELECT at FROM checks").fetchone()[0]
    assert text == "2026-03-13T19:32:03.000004+00:00"


def test_a_moment_without_a_zone_is_a_mistake(kept: Repertoire) -> None:
    with pytest.raises(ValueError, match="zone"):
        kept.checks.record(a_check(1, at=datetime(2026, 3, 14)), None)  # noqa: DTZ001 - the mistake
    assert kept.checks.all() == []


def test_checks_of_a_tune_and_since_a_moment(kept: Repertoire) -> None:
    every = [a_check(number, tune=1 + number % 2) for number in range(1, 7)]
    kept.checks.add(every)
    assert kept.checks.all(identity(1)) == every[1::2]
    assert kept.checks.all(since=every[2].at) == every[2:]
    assert kept.checks.all(identity(2), since=every[2].at) == every[2::2]
    with pytest.raises(Unknown):
        kept.checks.all("nothing")


def test_recent_checks_are_the_newest_first(kept: Repertoire) -> None:
    kept.checks.add([a_check(number) for number in range(1, 6)])
    kept.checks.withdraw(a_check(5).uuid, NOON, None)
    assert kept.checks.recent(2) == [a_check(4), a_check(3)]


def test_a_withdrawn_check_no_longer_counts_and_stays_in_the_file(kept: Repertoire) -> None:
    kept.checks.record(a_check(1), b"one")
    kept.checks.record(a_check(2), b"two")
    kept.checks.withdraw(a_check(2).uuid, NOON, b"one again")
    assert (
        kept.checks.all() == kept.checks.all(identity(1)) == kept.checks.recent(9) == [a_check(1)]
    )
    assert kept.checks.count() == 1
    assert kept.checks.last_by_tune() == {identity(1): a_check(1).at}
    assert kept.beliefs.all() == {identity(1): b"one again"}
    assert kept.connection.execute("SELECT count(*) FROM checks").fetchone() == (2,)
    with pytest.raises(Unknown):
        kept.checks.withdraw(a_check(2).uuid, NOON, None)


def test_last_checked_is_the_latest_moment_of_each_tune(kept: Repertoire) -> None:
    kept.checks.add([a_check(9), a_check(3), a_check(5)])
    assert kept.checks.last_by_tune() == {identity(1): a_check(9).at}


def test_practice_days_are_the_days_with_checks(kept: Repertoire) -> None:
    days = [date(2026, 1, 5), date(2026, 1, 5), date(2025, 12, 31)]
    kept.checks.add([a_check(number, day=day) for number, day in enumerate(days, start=1)])
    assert kept.sittings.practice_days(NOON) == [date(2025, 12, 31), date(2026, 1, 5)]
    assert kept.sittings.practice_days(a_check(3).at) == [date(2025, 12, 31), date(2026, 1, 5)]
    long_after = a_check(3).at + timedelta(days=400)
    assert kept.sittings.practice_days(long_after) == [date(2025, 12, 31)]


def test_adding_many_drops_the_beliefs_of_their_tunes_alone(kept: Repertoire) -> None:
    kept.beliefs.save({identity(1): b"a", identity(2): b"b"}, parameters_version=0)
    kept.checks.add([a_check(1, tune=1)])
    assert kept.beliefs.all() == {identity(2): b"b"}


BAD: list[tuple[str, Check]] = [
    ("level 0", replace(a_check(), levels=(("A", 0),))),  # type: ignore[arg-type]
    ("level 5", replace(a_check(), levels=(("A", 5),))),  # type: ignore[arg-type]
    ("no strand", a_check(levels=(("", Level.FIND),))),
    ("five hints", a_check(hints=5)),
    ("negative seconds", a_check(seconds=-1.0)),
    ("unknown tune", a_check(tune=99)),
    ("unknown round", a_check(round_uuid="none")),
    ("strayed into nothing", a_check(strayed_into="none")),
]


@pytest.mark.parametrize("bad", [bad for _, bad in BAD], ids=[name for name, _ in BAD])
def test_a_check_that_makes_no_sense_leaves_nothing(kept: Repertoire, bad: Check) -> None:
    kept.checks.record(a_check(9), b"before")
    with pytest.raises(RepertoireError) as refused:
        kept.checks.record(bad, b"after")
    assert "\n" not in str(refused.value)
    assert kept.checks.all() == [a_check(9)]
    assert kept.beliefs.all() == {identity(1): b"before"}
    assert verify(kept) == []


def test_a_check_needs_a_level(kept: Repertoire) -> None:
    with pytest.raises(ValueError, match="at least one level"):
        kept.checks.record(a_check(levels=()), None)
    assert verify(kept) == []


def test_a_check_is_kept_once(kept: Repertoire) -> None:
    kept.checks.record(a_check(1), b"once")
    with pytest.raises(RepertoireError):
        kept.checks.record(a_check(1), b"twice")
    assert kept.checks.all() == [a_check(1)]
    assert kept.beliefs.all() == {identity(1): b"once"}
