"""iCalendar text, checked against RFC 5545 and by round trips."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tunememory.clock import Clock
from tunememory.dates.agenda import dates_of
from tunememory.dates.changing import DateDraft, date_draft, export_dates, import_dates, save_date
from tunememory.dates.ics import MOST_EVENTS, read_calendar, write_calendar
from tunememory.errors import NotDoneError
from tunememory.session import Session, open_session
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


def test_the_examples_of_folded_and_escaped_text_in_the_standard():
    """RFC 5545, sections 3.1 (a line folded in two places says the same) and 3.3.11."""
    folded = "SUMMARY:This is a lo\r\n ng description\r\n  that exists on a long line."
    assert only(an_event("DTSTART:20261205", folded)).title == (
        "This is a long description that exists on a long line."
    )
    value = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    place = only(an_event("DTSTART:20261205", f"LOCATION:{value}")).place
    assert place == "Project XYZ Final Review Conference Room - 3B Come Prepared."
    assert only(an_event("DTSTART:20261205", r"SUMMARY:a\Nb\\n\;\,")).title == "a b\\n;,"


def test_parameters_with_quotes():
    """RFC 5545, section 3.2: a quoted value may hold colons, semicolons and commas."""
    line = 'DTSTART;X-A="a:b;c";VALUE=DATE:20261205'
    assert only(an_event(line)).first_day == date(2026, 12, 5)


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


@example(
    [Date("0e3be9a6-1f5c-4f6e-9d6b-0d7b6a3c1a11", r"A \n; B, \\", date(2026, 12, 3), place=r"\N")]
)
@given(st.lists(dates(), max_size=4, unique_by=lambda dated: dated.uuid))
def test_what_is_written_is_read_back(every):
    text = write_calendar(every, STAMP)
    assert read_calendar(text, UTC) == (every, [])
    for line in text.split("\r\n"):
        assert len(line.encode()) <= 75
        assert "\n" not in line


# --- other calendars ---


def only(text: str, zone=UTC) -> Date:
    (dated,), left_out = read_calendar(text, zone)
    assert left_out == []
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
        (["DTSTART:20261305"], "“20261305” is no day"),
        (["DTSTART:00011305"], "is no day"),
        (["DTSTART:00010101"], "not of the years"),
        (["DTSTART:20261205T990000Z"], "is no day"),
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
    dates, (left,) = read_calendar(text, UTC)
    assert why in left.why
    assert left.line == 3
    assert "\n" not in left.why
    assert [dated.first_day for dated in dates] == [date(2026, 12, 24)]


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


@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 12), st.text(max_size=6)), max_size=5)
)
def test_a_file_that_was_cut_about_is_read_or_refused(cuts):
    text = write_calendar([KITCHEN, replace(KITCHEN, uuid="7@hall", rule="")], STAMP)
    for place, length, put_in in cuts:
        text = text[:place] + put_in + text[place + length :]
    dates, said = [], []
    try:
        dates, left_out = read_calendar(text, UTC)
        said = [left.why for left in left_out]
    except NotDoneError as error:
        said = [str(error)]
    assert not any("\n" in why for why in said)
    assert all(dated.title and 1900 <= dated.first_day.year <= 2199 for dated in dates)


def test_a_line_in_many_pieces_and_a_zone_of_any_name_are_no_trouble():
    text = an_event("DTSTART;TZID=../..:20261205T200000", "SUMMARY:" + "\r\n x" * 200_000)
    assert only(text).first_day == date(2026, 12, 5)


def test_titles_are_cleaned_and_kept_as_plain_text():
    dated = only(an_event("DTSTART:20261205", "SUMMARY:[bold]x\x1b[31m\\nsecond\u202e line"))
    assert dated.title == "[bold]x[31m second line"


# --- files ---

Kept = Callable[..., list[str]]


def test_a_calendar_goes_out_and_in(
    session: Session, kept: Kept, tmp_path: Path, clock: Clock
) -> None:
    uuids = kept(2)
    save_date(session, DateDraft("every Thursday except 24 December", "Session",
                             tunes=tuple(uuids), weeks_before=2))  # fmt: skip
    save_date(session, DateDraft("5 December", "Dance; with comma, and \\", "dance", "Hall"))
    out = tmp_path / "dates.ics"
    export_dates(session, out)
    assert (import_dates(session, out).taken, import_dates(session, out).unchanged) == (0, 2)
    with open_session(tmp_path / "other.tunes", clock) as other:
        report = import_dates(other, out)
        assert (report.taken, report.changed, report.left_out) == (2, 0, [])
        # It has none of the tunes.
        assert [d.tunes for d in dates_of(other).values()] == [(), ()]
        assert {d.title for d in dates_of(other).values()} == {
            "Session",
            "Dance; with comma, and \\",
        }


def test_another_calendars_event_keeps_the_tunes_given_to_it(
    session: Session, kept: Kept, tmp_path: Path
) -> None:
    uuids = kept(1)
    file = tmp_path / "band.ics"
    event = (
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:7@hall\r\nDTSTART:20261205T193000Z\r\n"
        "SUMMARY:{}\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:no day\r\nEND:VEVENT\r\n"
        "END:VCALENDAR\r\n"
    )
    file.write_text(event.format("Barn dance"))
    report = import_dates(session, file)
    assert (report.taken, len(report.left_out)) == (1, 1)
    (uuid,) = dates_of(session)
    draft = date_draft(session, uuid)
    save_date(session, DateDraft(draft.when, draft.title, tunes=tuple(uuids)), uuid)
    file.write_text(event.format("Barn dance, late"))
    assert import_dates(session, file).changed == 1
    assert dates_of(session)[uuid].title == "Barn dance, late"
    assert dates_of(session)[uuid].tunes == tuple(uuids)


def test_a_file_that_is_no_calendar_is_refused_in_one_line(
    session: Session, tmp_path: Path
) -> None:
    file = tmp_path / "x.ics"
    file.write_bytes(b"\xff\xfe not a calendar")
    for path in (file, tmp_path / "none.ics"):
        with pytest.raises(NotDoneError) as refused:
            import_dates(session, path)
        assert "\n" not in str(refused.value)
        assert path.name in str(refused.value)
