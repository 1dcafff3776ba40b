"""iCalendar text, checked against RFC 5545 and by round trips."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.dates.icalendar import (
    MOST_EVENTS,
    content_lines,
    escaped,
    fold,
    read_calendar,
    split_list,
    unescaped,
    write_calendar,
)
from tunememory.errors import NotDoneError
from tunememory.store.records import Date
from tunememory.text import clean_text

STAMP = datetime(2026, 11, 25, 19, 30, tzinfo=UTC)
KITCHEN = Date(
    str(UUID(int=7)),
    "Thursday kitchen session",
    date(2026, 11, 26),
    kind="session",
    place="the kitchen; back door, please",
    rule="FREQ=WEEKLY;BYDAY=TH",
    except_days=(date(2026, 12, 24), date(2026, 12, 31)),
    tunes=("t1", "t2"),
    sets=("s1",),
    weeks_before=3,
)


def an_event(*lines: str) -> str:
    return "\r\n".join(
        ["BEGIN:VCALENDAR", "VERSION:2.0", "BEGIN:VEVENT", *lines, "END:VEVENT", "END:VCALENDAR"]
    )


def test_an_event_of_whole_days_as_the_standard_writes_it():
    """RFC 5545, sections 3.6.1 (DTSTAMP, UID), 3.8.2.4 (VALUE=DATE), 3.8.5.1 (EXDATE)."""
    text = write_calendar([KITCHEN], STAMP, {"t1": "The Grey Wader", "s1": "Low Tide"})
    assert text.endswith("END:VEVENT\r\nEND:VCALENDAR\r\n")
    assert text.split("\r\n")[:5] == [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//tunememory//dates//EN",
        "BEGIN:VEVENT",
        "UID:00000000-0000-0000-0000-000000000007",
    ]
    for line in (
        "DTSTAMP:20261125T193000Z",
        "DTSTART;VALUE=DATE:20261126",
        "DTEND;VALUE=DATE:20261127",
        "RRULE:FREQ=WEEKLY;BYDAY=TH",
        "EXDATE;VALUE=DATE:20261224,20261231",
        "SUMMARY:Thursday kitchen session",
        "LOCATION:the kitchen\\; back door\\, please",
        "CATEGORIES:session",
        "DESCRIPTION:Low Tide\\nThe Grey Wader",
    ):
        assert f"\r\n{line}\r\n" in text


def test_the_example_of_folding_in_the_standard():
    """RFC 5545, section 3.1: a line folded in two places says the same."""
    folded = "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    (line,) = content_lines(folded)
    assert line.value == "This is a long description that exists on a long line."
    assert (line.name, line.number) == ("DESCRIPTION", 1)


def test_the_example_of_escaped_text_in_the_standard():
    """RFC 5545, section 3.3.11."""
    value = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert unescaped(value) == text
    assert escaped(text) == value
    assert unescaped(r"a\Nb\\n\;\,") == "a\nb\\n;,"


def test_parameters_with_quotes():
    """RFC 5545, section 3.2: a quoted value may hold colons, semicolons and commas."""
    (line,) = content_lines('DTSTART;X-A="a:b;c";VALUE=DATE:20261205')
    assert line.parameters == {"X-A": "a:b;c", "VALUE": "DATE"}
    assert line.value == "20261205"


texts = st.text(max_size=120).map(clean_text)
titles = texts.filter(bool)
uuids = st.uuids().map(str)
days = st.dates(date(1950, 1, 1), date(2150, 1, 1))
rules = st.sampled_from(
    ["", "FREQ=WEEKLY;BYDAY=TH", "FREQ=MONTHLY;BYDAY=2SA", "FREQ=DAILY;INTERVAL=3;COUNT=9",
     "FREQ=YEARLY;BYMONTHDAY=17;BYMONTH=3", "FREQ=MONTHLY;BYMONTHDAY=-1", "FREQ=WEEKLY"]
)  # fmt: skip


@st.composite
def dates(draw: st.DrawFn) -> Date:
    rule = draw(rules)
    out = tuple(sorted(draw(st.sets(days, max_size=12)))) if rule else ()
    kind = draw(st.text(max_size=50).map(lambda text: clean_text(text, limit=60)))
    return Date(
        draw(uuids), draw(titles), draw(days), kind, draw(texts), rule, out,
        tuple(draw(st.lists(uuids, max_size=9))), tuple(draw(st.lists(uuids, max_size=3))),
        draw(st.integers(0, 52)),
    )  # fmt: skip


@given(st.lists(dates(), max_size=4, unique_by=lambda dated: dated.uuid))
def test_what_is_written_is_read_back(every):
    text = write_calendar(every, STAMP)
    read = read_calendar(text, UTC)
    assert list(read.dates) == every
    assert read.left_out == ()
    for line in text.split("\r\n"):
        assert len(line.encode()) <= 75
        assert "\n" not in line


@given(st.text(st.characters(exclude_characters="\r\n", codec="utf-8"), max_size=300))
def test_folding_keeps_characters_whole_and_lines_short(text):
    folded = fold("SUMMARY:" + text)
    assert folded.endswith("\r\n")
    assert folded[:-2].replace("\r\n ", "") == "SUMMARY:" + text
    assert all(len(line.encode()) <= 75 for line in folded[:-2].split("\r\n"))


@given(st.lists(st.text(min_size=1, max_size=9), max_size=5))
def test_lists_of_texts_come_apart_where_they_were_joined(words):
    words = [word.replace("\r", "") or "x" for word in words]
    assert split_list(",".join(map(escaped, words))) == words


# --- other calendars ---


def only(text: str, zone=UTC) -> Date:
    read = read_calendar(text, zone)
    assert read.left_out == ()
    (dated,) = read.dates
    return dated


def test_an_event_at_an_hour_counts_for_its_day():
    dated = only(an_event("UID:a@b", "DTSTART;TZID=Europe/Dublin:20261205T200000", "SUMMARY:Dance"))
    assert (dated.first_day, dated.title) == (date(2026, 12, 5), "Dance")


def test_an_event_in_utc_counts_for_the_day_it_is_here():
    text = an_event("UID:a@b", "DTSTART:20261205T233000Z", "SUMMARY:Dance")
    assert only(text, timezone(timedelta(hours=2))).first_day == date(2026, 12, 6)


def test_a_foreign_event_has_the_same_identity_every_time():
    text = an_event("UID:a@b", "DTSTART:20261205", "SUMMARY:Dance")
    assert only(text).uuid == only(text).uuid
    assert only(text).uuid != only(text.replace("a@b", "c@d")).uuid
    assert only(text.replace("UID:a@b\r\n", "")).uuid


def test_zones_and_alarms_are_passed_over():
    text = an_event(
        "UID:a@b",
        "DTSTART:20261205",
        "BEGIN:VALARM",
        "SUMMARY:Wake up",
        "DTSTART:17010101",
        "END:VALARM",
        "SUMMARY:Dance",
    ).replace("BEGIN:VEVENT", "BEGIN:VTIMEZONE\r\nTZID:X\r\nEND:VTIMEZONE\r\nBEGIN:VEVENT")
    assert only(text).title == "Dance"


def test_an_event_without_a_name_is_a_date_without_a_name():
    assert only(an_event("DTSTART:20261205")).title == "no name yet"


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        (["SUMMARY:x"], "no DTSTART"),
        (["DTSTART:yesterday"], "“yesterday” is no day"),
        (["DTSTART:20261305"], "there is no day"),
        (["DTSTART:00011305"], "there is no day"),
        (["DTSTART:00010101"], "not of the years"),
        (["DTSTART:20261205T990000Z"], "is no moment"),
        (["DTSTART:20261205", "DTSTART:20261206"], "given twice"),
        (["DTSTART:20261205", "RRULE:FREQ=SECONDLY"], "needs FREQ"),
        (["DTSTART:20261205", "RRULE:FREQ=DAILY;BYHOUR=1"], "no part of a rule"),
        (["DTSTART:20261205", "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"], "never falls"),
        (["DTSTART:20261205", "RRULE:FREQ=DAILY;UNTIL=20201205"], "ends before it begins"),
        (["DTSTART:20261205", "EXDATE:soon"], "is no day"),
        (["DTSTART:20261205", "RECURRENCE-ID:20261205"], "moved elsewhere"),
        (["DTSTART:20261205", "RDATE:20261206"], "further days"),
        (["DTSTART:20261205", "STATUS:CANCELLED"], "cancelled"),
        (["DTSTART:20261205", "X-TUNEMEMORY-WEEKS-BEFORE:many"], "from 0 to 52"),
    ],
)
def test_an_event_that_cannot_be_taken_says_why_and_the_rest_comes(lines, why):
    text = an_event(*lines).replace(
        "END:VCALENDAR", "BEGIN:VEVENT\r\nDTSTART:20261224\r\nEND:VEVENT\r\nEND:VCALENDAR"
    )
    read = read_calendar(text, UTC)
    (left,) = read.left_out
    assert why in left.why
    assert left.line == 3
    assert "\n" not in left.why
    assert [dated.first_day for dated in read.dates] == [date(2026, 12, 24)]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "empty"),
        ("\ufeff \r\n", "empty"),
        ("Dear diary", "line 1 is no line"),
        ("X:1\nT:The Grey Wader", "line 1: a calendar begins"),
        ("BEGIN:VEVENT\nEND:VEVENT", "line 1: a calendar begins"),
        ("BEGIN:VCALENDAR\nBEGIN:VEVENT\nEND:VCALENDAR", "line 3: END:VEVENT should"),
        ("BEGIN:VCALENDAR\nBEGIN:VEVENT\nDTSTART:20261205", "cut short"),
        ("BEGIN:VCALENDAR\n<html>", "line 2 is no line"),
        ('BEGIN:VCALENDAR\nSUMMARY;A="b:c', "line 2 is no line"),
        ("BEGIN:VCALENDAR\n" + "BEGIN:VEVENT\nEND:VEVENT\n" * (MOST_EVENTS + 1), "more than"),
        ("x" * 5_000_001, "longer than"),
    ],
)
def test_what_is_no_calendar_is_refused_in_one_line(text, why):
    with pytest.raises(NotDoneError, match=why) as refused:
        read_calendar(text, UTC)
    assert "\n" not in str(refused.value)


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    for wrapped in (text, an_event("DTSTART:20261205", "SUMMARY:" + text)):
        said = ""
        try:
            read_calendar(wrapped, UTC)
        except NotDoneError as error:
            said = str(error)
        assert "\n" not in said


def test_titles_are_cleaned_and_kept_as_plain_text():
    dated = only(an_event("DTSTART:20261205", "SUMMARY:[bold]x\x1b[31m\\nsecond\u202e line"))
    assert dated.title == "[bold]x[31m second line"
