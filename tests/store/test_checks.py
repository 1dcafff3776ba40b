from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from tests.store.making import NOON, a_check, a_tune, identity
from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.store import checks as checks_module
from tunememory.store.checks import Round
from tunememory.store.errors import RepertoireError, Unknown
from tunememory.store.repertoire import Repertoire


@pytest.fixture
def kept(repertoire: Repertoire) -> Repertoire:
    repertoire.add_tunes([a_tune(1), a_tune(2)])
    return repertoire


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
    kept.begin_round(ROUND)
    kept.record(FULL, b"\x00belief")
    kept.record(a_check(1), b"other")
    assert kept.checks() == [a_check(1), FULL]
    assert kept.beliefs() == {identity(2): b"\x00belief", identity(1): b"other"}


def test_a_later_belief_takes_the_place_of_the_earlier(kept: Repertoire) -> None:
    kept.record(a_check(1), b"first")
    kept.record(a_check(2), b"second")
    assert kept.beliefs() == {identity(1): b"second"}


def test_a_check_without_a_belief_leaves_none_behind(kept: Repertoire) -> None:
    kept.record(a_check(1), b"first")
    kept.record(a_check(2), None)
    assert kept.beliefs() == {}


def test_order_is_by_moment_then_as_they_were_written(kept: Repertoire) -> None:
    same = [a_check(3, uuid="b"), a_check(3, uuid="a"), a_check(1), a_check(3, uuid="c")]
    kept.add_checks(same)
    order = [a_check(1).uuid, "b", "a", "c"]
    assert [check.uuid for check in kept.checks()] == order
    assert [check.uuid for check in kept.recent_checks(3)] == ["c", "a", "b"]


def test_moments_are_kept_in_utc_to_the_microsecond(kept: Repertoire) -> None:
    at = datetime(2026, 3, 14, 1, 2, 3, 4, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    kept.record(a_check(1, at=at), None)
    (check,) = kept.checks()
    assert check.at == at
    assert check.at.tzinfo == UTC
    text = kept.connection.execute("SELECT at FROM checks").fetchone()[0]
    assert text == "2026-03-13T19:32:03.000004+00:00"


def test_a_moment_without_a_zone_is_a_mistake(kept: Repertoire) -> None:
    with pytest.raises(ValueError, match="zone"):
        kept.record(a_check(1, at=datetime(2026, 3, 14)), None)  # noqa: DTZ001 - the mistake
    assert kept.checks() == []


def test_checks_of_a_tune_and_since_a_moment(kept: Repertoire) -> None:
    every = [a_check(number, tune=1 + number % 2) for number in range(1, 7)]
    kept.add_checks(every)
    assert kept.checks(identity(1)) == every[1::2]
    assert kept.checks(since=every[2].at) == every[2:]
    assert kept.checks(identity(2), since=every[2].at) == every[2::2]
    with pytest.raises(Unknown):
        kept.checks("nothing")


def test_recent_checks_are_the_newest_first(kept: Repertoire) -> None:
    kept.add_checks([a_check(number) for number in range(1, 6)])
    kept.withdraw(a_check(5).uuid, NOON, None)
    assert kept.recent_checks(2) == [a_check(4), a_check(3)]


def test_a_withdrawn_check_no_longer_counts_and_stays_in_the_file(kept: Repertoire) -> None:
    kept.record(a_check(1), b"one")
    kept.record(a_check(2), b"two")
    kept.withdraw(a_check(2).uuid, NOON, b"one again")
    assert kept.checks() == kept.checks(identity(1)) == kept.recent_checks(9) == [a_check(1)]
    assert kept.check_count() == 1
    assert kept.last_checked() == {identity(1): a_check(1).at}
    assert {row[1] for row in kept.check_rows()} == {a_check(1).at}
    assert kept.beliefs() == {identity(1): b"one again"}
    assert kept.connection.execute("SELECT count(*) FROM checks").fetchone() == (2,)
    with pytest.raises(Unknown):
        kept.withdraw(a_check(2).uuid, NOON, None)


def test_last_checked_is_the_latest_moment_of_each_tune(kept: Repertoire) -> None:
    kept.add_checks([a_check(9), a_check(3), a_check(5)])
    assert kept.last_checked() == {identity(1): a_check(9).at}


def test_practice_days_are_the_days_with_checks(kept: Repertoire) -> None:
    days = [date(2026, 1, 5), date(2026, 1, 5), date(2025, 12, 31)]
    kept.add_checks([a_check(number, day=day) for number, day in enumerate(days, start=1)])
    assert kept.practice_days(NOON) == [date(2025, 12, 31), date(2026, 1, 5)]
    assert kept.practice_days(a_check(3).at) == [date(2025, 12, 31), date(2026, 1, 5)]
    long_after = a_check(3).at + timedelta(days=400)
    assert kept.practice_days(long_after) == [date(2025, 12, 31)]


def test_adding_many_drops_the_beliefs_of_their_tunes_alone(kept: Repertoire) -> None:
    kept.save_beliefs({identity(1): b"a", identity(2): b"b"}, parameters_version=0)
    kept.add_checks([a_check(1, tune=1)])
    assert kept.beliefs() == {identity(2): b"b"}


def test_rows_for_replaying_are_the_history_strand_by_strand(
    kept: Repertoire, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checks_module, "_PAGE", 3)  # several pages, moments shared across them
    history = [a_check(1 + number // 4, uuid=f"{99 - number:02}") for number in range(17)]
    kept.add_checks(history)
    expected = [
        (check.tune, check.at, check.day, check.round_kind, check.hints, strand, level)
        for check in history
        for strand, level in check.levels
    ]
    assert list(kept.check_rows()) == expected


def test_the_file_can_be_written_while_the_history_is_read(kept: Repertoire) -> None:
    kept.add_checks([a_check(1), a_check(2)])
    rows = kept.check_rows()
    next(rows)
    kept.record(a_check(3), None)
    with Repertoire.open(kept.path, wait=0) as other:
        other.record(a_check(4), None)
    assert next(rows)[1] == a_check(1).at


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
    kept.record(a_check(9), b"before")
    with pytest.raises(RepertoireError) as refused:
        kept.record(bad, b"after")
    assert "\n" not in str(refused.value)
    assert kept.checks() == [a_check(9)]
    assert kept.beliefs() == {identity(1): b"before"}
    assert kept.verify() == []


def test_a_check_needs_a_level(kept: Repertoire) -> None:
    with pytest.raises(ValueError, match="at least one level"):
        kept.record(a_check(levels=()), None)
    assert kept.verify() == []


def test_a_check_is_kept_once(kept: Repertoire) -> None:
    kept.record(a_check(1), b"once")
    with pytest.raises(RepertoireError):
        kept.record(a_check(1), b"twice")
    assert kept.checks() == [a_check(1)]
    assert kept.beliefs() == {identity(1): b"once"}
