from __future__ import annotations

from datetime import date, timedelta
from itertools import islice

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from tunememory.dates.recurrence import Rule, parse_rule
from tunememory.dates.words import When, parse_day, parse_when, when_words
from tunememory.errors import NotDoneError

WEDNESDAY = date(2026, 11, 25)
THURSDAY = date(2026, 11, 26)
CHRISTMAS_EVE = date(2026, 12, 24)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("2026-12-05", date(2026, 12, 5)),
        ("today", WEDNESDAY),
        ("Tomorrow", THURSDAY),
        ("+12d", date(2026, 12, 7)),
        ("+2w", date(2026, 12, 9)),
        ("Thursday", THURSDAY),
        ("thu", THURSDAY),
        ("Wednesday", date(2026, 12, 2)),
        ("24 December", CHRISTMAS_EVE),
        ("24th Dec.", CHRISTMAS_EVE),
        ("25 November", WEDNESDAY),
        ("24 November", date(2027, 11, 24)),
        ("24 November 2026", date(2026, 11, 24)),
        ("29 February", date(2028, 2, 29)),
    ],
)
def test_a_day_in_words(text, wanted):
    assert parse_day(text, WEDNESDAY) == wanted


@pytest.mark.parametrize(
    "text",
    ["", "12", "December", "Th", "12/11/26", "2026-13-01", "2026-02-30", "31 June", "next friday",
     "+d", "-3d", "9999-12-05", "5 Septober", "1 January 1066", "２０２６-12-05"],
)  # fmt: skip
def test_what_is_no_day_is_refused_in_one_line(text):
    with pytest.raises(NotDoneError, match=r"is no day|there is no|not of the years") as refused:
        parse_day(text, WEDNESDAY)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("text", "rule", "first"),
    [
        ("every Thursday", "FREQ=WEEKLY;BYDAY=TH", THURSDAY),
        ("every  thursdays", "FREQ=WEEKLY;BYDAY=TH", THURSDAY),
        ("every Wednesday", "FREQ=WEEKLY;BYDAY=WE", WEDNESDAY),
        ("every Tuesday and Thursday", "FREQ=WEEKLY;BYDAY=TU,TH", THURSDAY),
        ("every Mon, Wed and Fri", "FREQ=WEEKLY;BYDAY=MO,WE,FR", WEDNESDAY),
        ("second Saturday", "FREQ=MONTHLY;BYDAY=2SA", date(2026, 12, 12)),
        ("2nd Saturday of the month", "FREQ=MONTHLY;BYDAY=2SA", date(2026, 12, 12)),
        ("every second Saturday of the month", "FREQ=MONTHLY;BYDAY=2SA", date(2026, 12, 12)),
        ("first and third Tuesday", "FREQ=MONTHLY;BYDAY=1TU,3TU", date(2026, 12, 1)),
        ("last Friday", "FREQ=MONTHLY;BYDAY=-1FR", date(2026, 11, 27)),
        ("every last Friday", "FREQ=MONTHLY;BYDAY=-1FR", date(2026, 11, 27)),
        ("every second Thursday", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH", THURSDAY),
        ("every other Thursday", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH", THURSDAY),
        ("every 6 weeks on Monday", "FREQ=WEEKLY;INTERVAL=6;BYDAY=MO", date(2026, 11, 30)),
        ("every day", "FREQ=DAILY", WEDNESDAY),
        ("every third day", "FREQ=DAILY;INTERVAL=3", WEDNESDAY),
        ("15th of the month", "FREQ=MONTHLY;BYMONTHDAY=15", date(2026, 12, 15)),
        ("last day of the month", "FREQ=MONTHLY;BYMONTHDAY=-1", date(2026, 11, 30)),
        ("every 17 March", "FREQ=YEARLY;BYMONTHDAY=17;BYMONTH=3", date(2027, 3, 17)),
        ("by rule FREQ=MONTHLY;BYDAY=MO;BYSETPOS=-1", "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=-1",
         date(2026, 11, 30)),
        ("every Thursday from 2027-01-05", "FREQ=WEEKLY;BYDAY=TH", date(2027, 1, 7)),
        ("every Thursday until 2027-06-30", "FREQ=WEEKLY;UNTIL=20270630;BYDAY=TH", THURSDAY),
    ],
)  # fmt: skip
def test_recurring_dates_in_words(text, rule, first):
    when = parse_when(text, WEDNESDAY)
    assert (when.rule, when.first_day, when.except_days) == (rule, first, ())


def test_exceptions_are_days_on_which_it_does_not_take_place():
    when = parse_when("every Thursday except 24 December and 2026-12-31", WEDNESDAY)
    assert when.except_days == (CHRISTMAS_EVE, date(2026, 12, 31))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("every Thursday except 25 December", "Friday 25 December 2026 is no day of"),
        ("every Thursday except", "“except” needs a day"),
        ("Thursday except 24 December", "is one day"),
        ("2026-12-05 from 2026-12-01", "is one day"),
        ("every Thursday until 2026-11-25", "falls on no day"),
        ("every Thursday from 1 December from 2 December", "twice"),
        ("every blue moon", "cannot be read"),
        ("every", "is no day"),
        ("every 31 June", "there is no"),
        ("every 400 weeks on Monday", "INTERVAL=400"),
        ("by rule FREQ=HOURLY", "needs FREQ"),
        ("by rule FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "never falls"),
        ("99th of the month", "BYMONTHDAY=99"),
        ("sixth Saturday", "is no day"),
        ("[bold]every[/] Thursday", "is no day"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_line(text, why):
    with pytest.raises(NotDoneError, match=why) as refused:
        parse_when(text, WEDNESDAY)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("every Thursday except 24 December", "every Thursday except 24 December"),
        ("every other Thursday", "every second Thursday"),
        ("second Saturday", "second Saturday of the month"),
        ("every Fri, Mon", "every Monday and Friday"),
        ("2026-12-05", "Saturday 5 December 2026"),
        ("every Thursday until 30 June", "every Thursday until 30 June 2027"),
        ("every Thursday from 2027-01-05", "every Thursday from 7 January 2027"),
        ("every Thursday except 2027-12-23", "every Thursday except 23 December 2027"),
        ("23rd of the month", "23rd of the month"),
        ("12th of the month", "12th of the month"),
    ],
)
def test_words_back(text, words):
    assert when_words(parse_when(text, WEDNESDAY), WEDNESDAY) == words


def test_what_a_rule_takes_from_its_first_day_is_said():
    for rule, words in (
        ("FREQ=WEEKLY", "every Thursday"),
        ("FREQ=MONTHLY", "26th of the month"),
        ("FREQ=YEARLY", "every 26 November"),
    ):
        assert when_words(When(THURSDAY, rule), WEDNESDAY) == words


days = st.dates(date(2020, 1, 1), date(2035, 12, 31))
weekdays = st.lists(st.integers(0, 6), min_size=1, max_size=3, unique=True).map(sorted)
rules = st.one_of(
    st.builds(Rule, st.just("DAILY"), st.integers(1, 9)),
    st.builds(
        lambda interval, found: Rule("WEEKLY", interval, by_day=tuple((0, d) for d in found)),
        st.integers(1, 9),
        weekdays,
    ),
    st.builds(
        lambda numbers, day: Rule("MONTHLY", by_day=tuple((n, day) for n in numbers)),
        st.lists(st.sampled_from([1, 2, 3, 4, 5, -1]), min_size=1, max_size=3, unique=True),
        st.integers(0, 6),
    ),
    st.builds(
        lambda day: Rule("MONTHLY", by_month_day=(day,)), st.integers(-1, 31).filter(bool)
    ),
    st.builds(
        lambda month, day: Rule("YEARLY", by_month=(month,), by_month_day=(day,)),
        st.integers(1, 12),
        st.integers(1, 28),
    ),
    st.sampled_from(
        ["FREQ=WEEKLY", "FREQ=MONTHLY;INTERVAL=2", "FREQ=WEEKLY;COUNT=9;BYDAY=MO",
         "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=2", "FREQ=WEEKLY;INTERVAL=2;BYDAY=SU,MO;WKST=SU",
         "FREQ=YEARLY;BYMONTH=5;BYDAY=1MO"]
    ).map(parse_rule),
)  # fmt: skip


@given(rules, days, days, st.none() | st.integers(1, 900), st.sets(st.integers(0, 20), max_size=4))
def test_words_read_back_as_the_same_days(rule, first_day, today, lasts, out):
    first = next(rule.days(first_day, first_day + timedelta(days=4000)))
    if lasts and not rule.count:
        until = max(first, today) + timedelta(days=lasts)
        rule = parse_rule(f"{rule.text};UNTIL={until:%Y%m%d}")
    on = list(islice(rule.days(first, first + timedelta(days=4000)), 21))
    # Exceptions that are past may be left behind with the past.
    coming = [day for day in on if day >= today]
    when = When(first, rule.text, tuple(day for n, day in enumerate(coming) if n in out))
    assume(list(days_from(when, today)))
    again = parse_when(when_words(when, today), today)
    assert list(days_from(again, today)) == list(days_from(when, today))


def days_from(when, today):
    last = today + timedelta(days=1500)
    found = parse_rule(when.rule).days(when.first_day, last)
    return (day for day in found if day >= today and day not in when.except_days)


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)), days)
def test_single_days_read_back(day, today):
    written = when_words(When(day), today).partition(" ")[2]
    assert parse_when(written, today) == When(day)


@given(st.text(max_size=40))
@example("every 31 April")
@example("every second")
@example("15th of the month and Tuesday")
def test_any_text_is_read_or_refused_in_one_line(text):
    said = ""
    try:
        parse_when(text, WEDNESDAY)
    except NotDoneError as error:
        said = str(error)
    assert "\n" not in said
