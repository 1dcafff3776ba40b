from __future__ import annotations

from datetime import date, timedelta
from time import process_time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.dates.recurrence import (
    coming,
    last_occurrence,
    next_occurrence,
    occurrences,
    parse_rule,
    playing_days,
    read_day,
    tunes_of,
)
from tunememory.errors import NotDoneError
from tunememory.store.records import Date, DayOff, TuneSet

SESSION = Date(
    "session", "Kitchen", date(2026, 1, 1), rule="FREQ=WEEKLY;BYDAY=TH",
    except_days=(date(2026, 12, 24),), tunes=("a", "b"), sets=("low tide", "gone"),
)  # fmt: skip
DANCE = Date("dance", "Barn dance", date(2026, 1, 1), rule="FREQ=MONTHLY;BYDAY=2SA")
FESTIVAL = Date("festival", "Estuary", date(2026, 12, 7), tunes=("c",), weeks_before=2)
SETS = {"low tide": TuneSet("low tide", "Low Tide", ("b", "c", "b"))}


def test_days_of_a_weekly_date_without_its_exceptions():
    found = occurrences(SESSION, date(2026, 12, 10), date(2026, 12, 31))
    assert found == (date(2026, 12, 10), date(2026, 12, 17), date(2026, 12, 31))


@pytest.mark.parametrize(
    ("rule", "first", "wanted"),
    [
        # Examples of RFC 5545, section 3.8.5.3, from 2 September 1997 on.
        ("FREQ=DAILY;COUNT=10", "19970902", "02 03 04 05 06 07 08 09 10 11"),
        ("FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH", "19970902",
         "02 04 09 11 16 18 23 25 30 02"),
        ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "19970805", "05 10 19 24"),
        ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "19970805", "05 17 19 31"),
        ("FREQ=MONTHLY;COUNT=4;BYDAY=1FR", "19970905", "05 03 07 05"),
        ("FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU", "19970907",
         "07 28 02 30 04 25 01 29 03 31"),
        ("FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", "19970922", "22 20 17 22 19 16"),
        ("FREQ=MONTHLY;BYDAY=TU,WE,TH;BYSETPOS=3;COUNT=3", "19970904", "04 07 06"),
        ("FREQ=YEARLY;COUNT=10;BYMONTH=6,7", "19970610", "10 10 10 10 10 10 10 10 10 10"),
    ],
)  # fmt: skip
def test_examples_of_the_standard(rule, first, wanted):
    days = parse_rule(rule).days(read_day(first), date(2002, 12, 31))
    assert [f"{day.day:02}" for day in days][:10] == wanted.split()[:10]


def test_friday_the_thirteenth():
    """RFC 5545, section 3.8.5.3."""
    days = parse_rule("FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13").days(
        date(1997, 9, 2), date(2000, 12, 31)
    )
    assert list(days) == [
        date(1998, 2, 13), date(1998, 3, 13), date(1998, 11, 13), date(1999, 8, 13),
        date(2000, 10, 13),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    ["", "FREQ", "FREQ=HOURLY", "FREQ=DAILY;FREQ=DAILY", "FREQ=WEEKLY;BYDAY=2TH",
     "FREQ=WEEKLY;BYMONTHDAY=3", "FREQ=MONTHLY;BYDAY=0SA", "FREQ=MONTHLY;BYDAY=SATURDAY",
     "FREQ=DAILY;COUNT=0", "FREQ=DAILY;INTERVAL=0", "FREQ=DAILY;COUNT=3;UNTIL=20261224",
     "FREQ=DAILY;UNTIL=tomorrow", "FREQ=MONTHLY;BYSETPOS=1", "FREQ=YEARLY;BYMONTH=13",
     "FREQ=YEARLY;BYMONTH=-1", "FREQ=DAILY;BYHOUR=9", "FREQ=WEEKLY;WKST=XX",
     "FREQ=DAILY;COUNT=99999999999999999999",
     "FREQ=MONTHLY;BYDAY=53MO", "FREQ=YEARLY;BYMONTH=2;BYDAY=-6MO"],
)  # fmt: skip
def test_a_rule_that_is_none_is_refused_in_one_line(text):
    with pytest.raises(NotDoneError, match=r"rule|needs|counts") as refused:
        parse_rule(text)
    assert "\n" not in str(refused.value)


def test_a_rule_is_always_written_the_same_way():
    rule = parse_rule(" byday=th;WKST=MO;interval=1;freq=weekly ")
    assert rule.text == "FREQ=WEEKLY;BYDAY=TH"
    assert parse_rule(rule.text) == rule


@pytest.mark.parametrize(
    "text",
    ["FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "FREQ=MONTHLY;BYDAY=1MO;BYMONTHDAY=20",
     "FREQ=DAILY;INTERVAL=7;BYDAY=FR", "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=9"],
)  # fmt: skip
def test_a_rule_that_never_falls_does_not_search_for_ever(text):
    with pytest.raises(NotDoneError, match="never falls on any day"):
        list(parse_rule(text).days(date(2026, 1, 1), date(2027, 1, 1)))


@pytest.mark.parametrize("year", [1900, 1999, 2026, 2199])
def test_a_rare_rule_is_not_taken_for_one_that_never_falls(year):
    for rule, first in (
        ("FREQ=YEARLY;BYMONTHDAY=17;BYMONTH=3", date(year, 4, 1)),
        ("FREQ=MONTHLY;BYMONTH=2;BYMONTHDAY=29;BYDAY=MO", date(year, 3, 1)),
        ("FREQ=YEARLY;INTERVAL=40", date(year, 12, 31)),
    ):
        assert next(parse_rule(rule).days(first, date(year + 60, 12, 31))) >= first


def test_next_and_last_day():
    assert next_occurrence(SESSION, date(2026, 12, 18)) == date(2026, 12, 31)
    assert next_occurrence(SESSION, date(2026, 12, 17)) == date(2026, 12, 17)
    assert last_occurrence(SESSION, date(2026, 12, 31)) == date(2026, 12, 17)
    assert last_occurrence(SESSION, date(2026, 1, 1)) is None
    assert next_occurrence(FESTIVAL, date(2026, 12, 8)) is None
    assert next_occurrence(FESTIVAL, date(2020, 1, 1)) == FESTIVAL.first_day


def test_what_is_coming_is_in_order_and_what_is_past_is_out():
    found = coming([FESTIVAL, DANCE, SESSION], date(2026, 12, 8))
    assert [(day, dated.uuid) for day, dated in found] == [
        (date(2026, 12, 10), "session"),
        (date(2026, 12, 12), "dance"),
    ]


def test_tunes_of_a_date_with_those_of_its_sets_each_once():
    assert tunes_of(SESSION, SETS) == ("a", "b", "c")


def test_days_off():
    sundays = DayOff("s", date(2026, 1, 1), date(2026, 1, 1), "FREQ=WEEKLY;BYDAY=SU")
    holiday = DayOff("h", date(2026, 7, 1), date(2026, 7, 14), note="by the sea")
    off = [sundays, holiday]
    for day, playing in (
        (date(2026, 11, 29), False),
        (date(2025, 12, 28), True),
        (date(2026, 7, 1), False),
        (date(2026, 7, 14), False),
        (date(2026, 7, 15), True),
    ):
        assert playing_days(day, day, off) == ((day,) if playing else ())
    found = playing_days(date(2026, 7, 10), date(2026, 7, 21), off)
    assert found == tuple(date(2026, 7, d) for d in (15, 16, 17, 18, 20, 21))


@given(
    st.dates(date(2020, 1, 1), date(2030, 1, 1)),
    st.sampled_from(["", "FREQ=WEEKLY;INTERVAL=2", "FREQ=MONTHLY;BYDAY=-1FR", "FREQ=DAILY"]),
    st.dates(date(2020, 1, 1), date(2030, 1, 1)),
    st.integers(0, 60),
)
def test_next_day_is_the_first_of_the_days(first_day, rule, day, length):
    dated = Date("d", "x", first_day, rule=rule)
    found = occurrences(dated, day, day + timedelta(days=length))
    assert list(found) == sorted(set(found))
    upcoming = next_occurrence(dated, day)
    if found:
        assert upcoming == found[0]
    elif upcoming is not None:
        assert upcoming > day + timedelta(days=length)


@given(
    st.dates(date(1900, 1, 1), date(2030, 1, 1)),
    st.sampled_from(
        ["FREQ=DAILY", "FREQ=DAILY;INTERVAL=5", "FREQ=WEEKLY;INTERVAL=3;BYDAY=TU,SU;WKST=SU",
         "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,SU", "FREQ=WEEKLY;BYDAY=SA,MO;BYSETPOS=-1",
         "FREQ=WEEKLY;UNTIL=20200101", "FREQ=DAILY;COUNT=900", "FREQ=DAILY;BYMONTH=2",
         "FREQ=MONTHLY;INTERVAL=5"]
    ),
    st.dates(date(1900, 1, 1), date(2030, 1, 1)),
)  # fmt: skip
def test_what_lies_long_before_may_be_passed_over(first_day, text, from_day):
    rule = parse_rule(text)
    end = from_day + timedelta(days=400)
    every = rule.days(first_day, end)
    assert list(rule.days(first_day, end, from_day)) == [day for day in every if day >= from_day]


@pytest.mark.parametrize("year", [1, 1900, 2026, 9998])
@pytest.mark.parametrize(
    "rule", ["FREQ=DAILY", "FREQ=WEEKLY;INTERVAL=366", "FREQ=YEARLY;BYDAY=53MO",
             "FREQ=YEARLY;BYDAY=-53SU", "FREQ=DAILY;COUNT=9999"],
)  # fmt: skip
def test_a_rule_of_any_year_is_gone_through_at_once(rule, year):
    """A hundred and twenty days took half a minute to go through for a rule of 1900."""
    first = date(year, 1, 1)
    dated, off = Date("d", "x", first, rule=rule), DayOff("o", first, first, rule)
    began = process_time()
    for today in (date(1901, 1, 1), date(2026, 12, 1), date(2199, 12, 31)):
        following = next_occurrence(dated, today)
        assert following is None or following >= today
        last = last_occurrence(dated, today)
        assert last is None or last < today
        assert len(playing_days(today, today + timedelta(days=120), [off])) <= 121
    assert process_time() - began < 3


words = st.text("0123456789+-,;=", max_size=6)
parts = st.one_of(
    st.sampled_from(["INTERVAL=2", "COUNT=3", "UNTIL=20270101", "BYDAY=53MO", "BYDAY=-6SU",
                     "BYDAY=5TU,TH", "BYMONTH=2", "BYMONTHDAY=-31,30", "BYSETPOS=-366", "WKST=SU"]),
    st.builds("{}={}".format, st.sampled_from(["BYDAY", "BYMONTHDAY", "BYSETPOS", "COUNT"]), words),
)  # fmt: skip


@given(
    st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]),
    st.lists(parts, max_size=4),
    st.dates(date(1900, 1, 1), date(2199, 12, 31)),
)
def test_any_rule_is_gone_through_or_refused(frequency, parts, first_day):
    try:
        rule = parse_rule(";".join([f"FREQ={frequency}", *parts]))
        found = list(rule.days(first_day, first_day + timedelta(days=900)))
    except NotDoneError:
        return
    assert found == sorted(set(found))
