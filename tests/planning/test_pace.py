from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tunememory.planning.pace import READING_SECONDS, measured_pace
from tunememory.planning.standing import Pace


def test_without_checks_the_default_holds() -> None:
    assert measured_pace([], []) == Pace()


def test_many_checks_give_the_players_own_pace() -> None:
    pace = measured_pace([6.0] * 400, [2.0] * 400)
    assert abs(pace.how - (6 + READING_SECONDS)) < 0.5
    assert abs(pace.what - (2 + READING_SECONDS)) < 0.5


def test_one_interrupted_evening_changes_little() -> None:
    assert measured_pace([3600.0] * 3, []).how < 25


@given(st.lists(st.floats(-10, 1e6), max_size=50))
def test_a_pace_is_always_a_sensible_time(seconds: list[float]) -> None:
    assert READING_SECONDS <= measured_pace(seconds, seconds).how <= 64.0
