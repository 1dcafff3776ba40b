from __future__ import annotations

import numpy as np

from tunememory.history.days import GAP_DAYS, RETURN_DAYS, returned_on
from tunememory.rounds.choosing import not_met_since

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


def test_tunes_never_met_are_not_old_friends() -> None:
    met = np.array([np.nan, 10.0, 30.0])
    assert not_met_since(met, 20.0).tolist() == [False, True, False]
