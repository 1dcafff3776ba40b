from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.dates.played import ASKED_AFTER_DAYS, to_ask_about
from tunememory.dates.recurrence import eve_of_one
from tunememory.dates.weights import (
    EARLY_LOAD,
    FULL_DAYS,
    HEAVY,
    REGULAR,
    RISING_DAYS,
    date_weights,
    factor,
    load,
)
from tunememory.errors import NotDoneError
from tunememory.store.records import Date, TuneSet

FESTIVAL = Date("festival", "Estuary", date(2026, 12, 7), tunes=("a",), sets=("low",))
SESSION = Date("session", "Kitchen", date(2026, 1, 1), rule="FREQ=WEEKLY;BYDAY=TH", tunes=("b",))
DANCE = Date("dance", "Barn", date(2026, 1, 1), rule="FREQ=MONTHLY;BYDAY=2SA", tunes=("a", "d"))
SETS = {"low": TuneSet("low", "Low Tide", ("b", "c"))}
UUIDS = ("a", "b", "c", "d", "e")


def weights(day, *dates):
    return dict(zip(UUIDS, date_weights(UUIDS, dates, SETS, day), strict=True))


def test_a_tune_weighs_more_in_the_week_before_and_nothing_on_the_day():
    told = [factor(before) for before in (30, 21, 14, 8, 7, 2, 1, 0)]
    assert told[0] == told[1] == 1.0
    assert 1.0 < told[2] < told[3] < HEAVY
    assert told[4:] == [HEAVY, HEAVY, HEAVY, 0.0]
    assert factor(0, regular=True) == REGULAR
    assert factor(None) == 1.0


def test_the_last_days_are_the_dates_own_the_weeks_before_in_part():
    assert [load(before) for before in (-1, 0, RISING_DAYS + 1)] == [0.0, 0.0, 0.0]
    assert {load(before) for before in range(1, FULL_DAYS + 1)} == {1.0}
    assert {load(before) for before in range(FULL_DAYS + 1, RISING_DAYS + 1)} == {EARLY_LOAD}


def test_tunes_of_sets_are_wanted_too_and_others_stay_as_they_are():
    told = weights(date(2026, 12, 1), FESTIVAL)
    assert told == {"a": HEAVY, "b": HEAVY, "c": HEAVY, "d": 1.0, "e": 1.0}


def test_a_weekly_session_comes_forward_less():
    told = weights(date(2026, 12, 1), SESSION)
    assert told["b"] == REGULAR
    assert told["a"] == 1.0


def test_a_weekly_session_is_brought_forward_until_the_day_itself():
    for day in (9, 10):
        assert weights(date(2026, 12, day), SESSION)["b"] == REGULAR
    # What a festival wants today is spared all the same, whichever is told first.
    for dates in ((SESSION, FESTIVAL), (FESTIVAL, SESSION)):
        assert weights(date(2026, 12, 7), *dates)["b"] == 0.0


def test_of_two_dates_the_heavier_counts():
    told = weights(date(2026, 12, 1), SESSION, FESTIVAL)
    assert told["b"] == HEAVY


def test_what_is_wanted_today_is_spared_whatever_comes_later():
    on_the_day = weights(date(2026, 12, 7), FESTIVAL, SESSION, DANCE)
    assert on_the_day["a"] == 0.0
    assert on_the_day["d"] == HEAVY
    # On the eve the round is the festival's own: its tuning must not lose to another.
    assert weights(date(2026, 12, 6), FESTIVAL, DANCE)["a"] == HEAVY


def test_a_past_date_weighs_nothing():
    assert set(weights(date(2026, 12, 8), FESTIVAL).values()) == {1.0}


def test_the_eve_of_a_festival_is_for_heads_and_that_of_a_session_is_not():
    assert eve_of_one([FESTIVAL], date(2026, 12, 6))
    assert not eve_of_one([FESTIVAL], date(2026, 12, 5))
    assert eve_of_one([DANCE], date(2026, 12, 11))
    assert not eve_of_one([SESSION], date(2026, 12, 9))


@given(st.integers(-5, 60), st.booleans())
def test_a_date_never_weighs_more_than_its_week(before, regular):
    assert 0 <= factor(before, regular=regular) <= (REGULAR if regular else HEAVY)


# --- after the date ---


def test_after_a_date_it_is_asked_what_was_played_until_it_is_answered():
    friday = date(2026, 12, 11)
    assert to_ask_about([SESSION, DANCE], friday, []) == [(date(2026, 12, 10), SESSION)]
    assert to_ask_about([SESSION], friday, [("session", date(2026, 12, 10))]) == []
    later = friday + timedelta(days=ASKED_AFTER_DAYS)
    assert to_ask_about([SESSION], later, []) == []


def test_the_day_itself_is_not_over_yet():
    assert to_ask_about([FESTIVAL], date(2026, 12, 7), []) == []


def test_the_latest_comes_first():
    found = to_ask_about([SESSION, DANCE], date(2026, 12, 13), [])
    assert [past.uuid for _, past in found] == ["dance", "session"]


def test_a_rule_that_cannot_be_read_is_said():
    broken = Date("x", "x", date(2026, 1, 1), rule="FREQ=NEVER")
    with pytest.raises(NotDoneError, match="needs FREQ"):
        date_weights(UUIDS, [broken], {}, date(2026, 12, 1))
