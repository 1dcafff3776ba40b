from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tunememory.dates.readiness import if_asked
from tunememory.dates.weights import EARLY_LOAD, FULL_DAYS
from tunememory.history import Pace
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.check import column_of
from tunememory.recall.forgetting import chance
from tunememory.recall.parameters import PRIOR
from tunememory.rounds.candidates import Candidates, date_gain
from tunememory.rounds.choosing import LEAST_GAIN, LEAST_WORTH, Wishes, brought_forward, first_round

NOW = 9000.0
PACE = Pace(how=10.0, what=10.0)
Make = Callable[..., Candidates]


def dated(candidates: Make, before: int, **overruled: object) -> Candidates:
    """Thirty tunes, the last ten of them wanted at a date, the very last gaining most."""
    until = np.where(np.arange(30) >= 20, float(before), np.nan)
    gain = np.where(np.arange(30) >= 20, np.linspace(0.0, 0.3, 30), np.nan)
    facts = {"date_days": until, "date_gain": np.stack([gain, gain / 2], axis=1)}
    return candidates(30, **{**facts, **overruled})


def asked(now: Candidates, minutes: float = 1.5) -> list[int]:
    return [pick.place for pick in first_round(now, Wishes(minutes, "GDAE"), PACE, NOW).picks]


def test_in_the_last_days_the_round_is_the_dates(candidates: Make) -> None:
    for before in range(1, FULL_DAYS + 1):
        assert sorted(asked(dated(candidates, before))) == list(range(21, 30))


def test_weeks_before_it_has_its_share_and_no_more(candidates: Make) -> None:
    told = asked(dated(candidates, FULL_DAYS + 1))
    assert len(told) == 9
    assert {place for place in told if place >= 20} == {29, 28, 27}
    assert round(9 * EARLY_LOAD) == 3


def test_of_others_nothing_is_lost_when_no_date_is_near(candidates: Make) -> None:
    none = np.full(30, np.nan)
    far = dated(candidates, 1, date_days=none, date_gain=np.full((30, 2), np.nan))
    assert asked(far) == asked(candidates(30))


def test_what_is_sure_is_not_asked_for_the_date_either(candidates: Make) -> None:
    value = np.full((30, 2), LEAST_WORTH / 2)
    value[:6] = 9.0
    sure = np.full((30, 2), LEAST_GAIN / 2)
    sure[:20] = np.nan
    assert sorted(asked(dated(candidates, 2, value=value, date_gain=sure))) == [0, 1, 2, 3, 4, 5]


def test_joins_of_a_set_have_places_of_their_own() -> None:
    joins = np.arange(30) >= 26
    days = np.full(30, 2.0)
    gain = np.where(joins, 0.05, 0.4)
    told = brought_forward(gain, days, 10, joins)
    assert (len(told), int(joins[told].sum())) == (10, 2)
    assert int(joins[brought_forward(gain, days, 1, joins)].sum()) == 1
    assert int(joins[brought_forward(np.where(joins, 0.0, gain), days, 10, joins)].sum()) == 0


def test_most_gain_comes_first_and_what_is_not_wanted_never() -> None:
    gain = np.array([0.1, np.nan, 0.3, 0.2, 0.5])
    days = np.array([3.0, np.nan, 3.0, 3.0, np.nan])
    assert brought_forward(gain, days, 9).tolist() == [2, 3, 0]
    assert brought_forward(gain, np.full(5, np.nan), 9).tolist() == []


def test_the_gain_is_what_a_check_now_changes_on_the_day() -> None:
    columns = tuple(column_of(strand) for strand in ("key", "name", "A"))
    words = (Declared.OLD_FRIEND, Declared.KNOWN, Declared.LEARNING, Declared.KNOWN)
    beliefs = stack([first_belief(columns, word, NOW - 9.0, PRIOR) for word in words])
    told = date_gain(beliefs, NOW, PRIOR, np.array([5.0, 5.0, 5.0, np.nan]))
    assert np.isnan(told[3]).all()
    held = beliefs.present[0]
    # The forecast reckons the same another way: every outcome at once, not one by one.
    asked_now = if_asked(beliefs, np.full((4, 1), NOW), NOW + 5.0, PRIOR)
    changed = asked_now - chance(beliefs, NOW + 5.0, PRIOR)
    assert told[:3, held] == pytest.approx(changed[:3, held], abs=0.03)
    assert (told[:3, held] > 0.05).all()
