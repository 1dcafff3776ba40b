from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tunememory.history.days import Pace, measured_pace


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
