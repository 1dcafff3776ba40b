"""Days off in words, and dates to and from calendar files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tunememory.clock import Clock
from tunememory.dates.agenda import dates_of
from tunememory.dates.changing import (
    DateDraft,
    add_day_off,
    all_days_off,
    date_draft,
    export_dates,
    import_dates,
    remove_day_off,
    save_date,
)
from tunememory.errors import NotDoneError
from tunememory.session import Session, open_session

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
def test_days_off_in_words(session: Session, text: str, words: str) -> None:
    added = add_day_off(session, text, "away")
    assert (added.when, added.note) == (words, "away")
    assert all_days_off(session) == (added,)
    remove_day_off(session, added.uuid)
    assert all_days_off(session) == ()


@pytest.mark.parametrize(
    "text", ["", "14 August 2027 to 1 August 2027", "every Sunday to Monday", "some time",
             "every Thursday except 24 December", "9 May to 1 May"],
)  # fmt: skip
def test_what_is_no_day_off_is_refused(session: Session, text: str) -> None:
    with pytest.raises(NotDoneError):
        add_day_off(session, text)
    assert all_days_off(session) == ()


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
