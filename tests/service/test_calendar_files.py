"""Days off in words, and dates to and from calendar files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tunememory.clock import Clock
from tunememory.dates.changing import DateDraft
from tunememory.errors import NotDoneError
from tunememory.service.desk import Desk, open_desk

Kept = Callable[..., list[str]]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("every Sunday", "every Sunday"),
        ("1 August to 14 August", "Sunday 1 August 2027 to Saturday 14 August 2027"),
        ("20 December to 6 January", "Sunday 20 December 2026 to Wednesday 6 January 2027"),
        ("1 October 2027 to 1 July 2028", "Friday 1 October 2027 to Saturday 1 July 2028"),
        ("tomorrow", "Wednesday 25 November 2026"),
    ],
)
def test_days_off_in_words(desk: Desk, text: str, words: str) -> None:
    added = desk.add_day_off(text, "away")
    assert (added.when, added.note) == (words, "away")
    assert desk.all_days_off() == (added,)
    desk.remove_day_off(added.uuid)
    assert desk.all_days_off() == ()


@pytest.mark.parametrize(
    "text", ["", "14 August 2027 to 1 August 2027", "every Sunday to Monday", "some time",
             "every Thursday except 24 December", "9 May to 1 May"],
)  # fmt: skip
def test_what_is_no_day_off_is_refused(desk: Desk, text: str) -> None:
    with pytest.raises(NotDoneError):
        desk.add_day_off(text)
    assert desk.all_days_off() == ()


def test_a_calendar_goes_out_and_in(desk: Desk, kept: Kept, tmp_path: Path, clock: Clock) -> None:
    uuids = kept(2)
    desk.save_date(DateDraft("every Thursday except 24 December", "Session",
                             tunes=tuple(uuids), weeks_before=2))  # fmt: skip
    desk.save_date(DateDraft("5 December", "Dance; with comma, and \\", "dance", "Hall"))
    out = tmp_path / "dates.ics"
    desk.export_dates(out)
    assert (desk.import_dates(out).taken, desk.import_dates(out).unchanged) == (0, 2)
    with open_desk(tmp_path / "other.tunes", clock) as other:
        report = other.import_dates(out)
        assert (report.taken, report.changed, report.left_out) == (2, 0, ())
        # It has none of the tunes.
        assert [d.tunes for d in other.dates.values()] == [(), ()]
        assert {d.title for d in other.dates.values()} == {"Session", "Dance; with comma, and \\"}


def test_another_calendars_event_keeps_the_tunes_given_to_it(
    desk: Desk, kept: Kept, tmp_path: Path
) -> None:
    uuids = kept(1)
    file = tmp_path / "band.ics"
    event = (
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:7@hall\r\nDTSTART:20261205T193000Z\r\n"
        "SUMMARY:{}\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:no day\r\nEND:VEVENT\r\n"
        "END:VCALENDAR\r\n"
    )
    file.write_text(event.format("Barn dance"))
    report = desk.import_dates(file)
    assert (report.taken, len(report.left_out)) == (1, 1)
    (uuid,) = desk.dates
    draft = desk.date_draft(uuid)
    desk.save_date(DateDraft(draft.when, draft.title, tunes=tuple(uuids)), uuid)
    file.write_text(event.format("Barn dance, late"))
    assert desk.import_dates(file).changed == 1
    assert desk.dates[uuid].title == "Barn dance, late"
    assert desk.dates[uuid].tunes == tuple(uuids)


def test_a_file_that_is_no_calendar_is_refused_in_one_line(desk: Desk, tmp_path: Path) -> None:
    file = tmp_path / "x.ics"
    file.write_bytes(b"\xff\xfe not a calendar")
    for path in (file, tmp_path / "none.ics"):
        with pytest.raises(NotDoneError) as refused:
            desk.import_dates(path)
        assert "\n" not in str(refused.value)
        assert path.name in str(refused.value)
