"""The player's pace, and days away."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tunememory.history import GAP_DAYS, RETURN_DAYS, Pace, measured_pace, returned_on

TODAY = 740_000


def test_nobody_comes_back_who_never_left() -> None:
    assert returned_on(list(range(TODAY - 50, TODAY)), TODAY) is None
    assert returned_on([], TODAY) is None


def test_three_weeks_are_not_yet_a_gap() -> None:
    assert returned_on([TODAY - GAP_DAYS], TODAY) is None
    assert returned_on([TODAY - GAP_DAYS - 1], TODAY) == TODAY


def test_checks_of_today_do_not_end_the_coming_back() -> None:
    assert returned_on([TODAY - 40, TODAY], TODAY) == TODAY


def test_coming_back_lasts_some_weeks_after_the_gap() -> None:
    days = [TODAY - 90, TODAY - 12, TODAY - 11, TODAY - 1]
    assert returned_on(days, TODAY) == TODAY - 12
    long_ago = [TODAY - 200, TODAY - RETURN_DAYS - 2, *range(TODAY - RETURN_DAYS - 1, TODAY, 7)]
    assert returned_on(long_ago, TODAY) is None


def test_the_latest_of_two_gaps_counts() -> None:
    days = [TODAY - 100, TODAY - 55, TODAY - 54, TODAY - 10]
    assert returned_on(days, TODAY) == TODAY - 10


def test_without_checks_the_default_holds() -> None:
    assert measured_pace([], []) == Pace()


def test_many_checks_give_the_players_own_pace() -> None:
    pace = measured_pace([26.0] * 400, [9.0] * 400)
    assert abs(pace.how - 26) < 1
    assert abs(pace.what - 9) < 1


def test_one_interrupted_evening_changes_little() -> None:
    assert measured_pace([3600.0] * 3, []).how < 26


@given(st.lists(st.floats(-10, 1e6), max_size=50))
def test_a_pace_is_always_a_sensible_time(seconds: list[float]) -> None:
    assert 3.0 <= measured_pace(seconds, seconds).how <= 90.0
