"""Dates as iCalendar text (RFC 5545), each an event of whole days."""

from __future__ import annotations

from datetime import UTC, timedelta
from typing import TYPE_CHECKING

from tunememory.planning.ical_lines import escaped, fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date, datetime

    from tunememory.tunes.dates import Date

PRODUCT = "-//tunememory//dates//EN"
OWN_TUNES = "X-TUNEMEMORY-TUNES"
OWN_SETS = "X-TUNEMEMORY-SETS"
OWN_WEEKS = "X-TUNEMEMORY-WEEKS-BEFORE"
"""Properties of our own (section 3.8.8.2): what no standard one holds."""


def write_calendar(
    dates: Iterable[Date], stamp: datetime, names: Mapping[str, str] | None = None
) -> str:
    """Return dates as the text of an iCalendar file.

    Args:
        dates: In the order they are written.
        stamp: When the text is made, aware (``DTSTAMP``).
        names: Names of tunes and sets by identity, listed for the reader of a calendar; those
            without one are left out of the list.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}"]
    for dated in dates:
        lines += _event(dated, stamp, names or {})
    lines.append("END:VCALENDAR")
    return "".join(map(fold, lines))


def _event(dated: Date, stamp: datetime, names: Mapping[str, str]) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{escaped(dated.uuid)}"
    yield f"DTSTAMP:{stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield f"DTSTART;VALUE=DATE:{basic(dated.first_day)}"
    yield f"DTEND;VALUE=DATE:{basic(dated.first_day + timedelta(days=1))}"
    if dated.rule:
        yield f"RRULE:{dated.rule}"
    if dated.except_days:
        yield f"EXDATE;VALUE=DATE:{','.join(map(basic, dated.except_days))}"
    yield f"SUMMARY:{escaped(dated.title)}"
    if dated.place:
        yield f"LOCATION:{escaped(dated.place)}"
    if dated.kind:
        yield f"CATEGORIES:{escaped(dated.kind)}"
    told = [names[uuid] for uuid in (*dated.sets, *dated.tunes) if uuid in names]
    if told:
        yield "DESCRIPTION:" + escaped("\n".join(told))
    yield from _own(OWN_TUNES, dated.tunes)
    yield from _own(OWN_SETS, dated.sets)
    if dated.weeks_before:
        yield f"{OWN_WEEKS}:{dated.weeks_before}"
    # Nobody is busy for the whole day (section 3.8.2.7).
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def basic(day: date) -> str:
    """Return a day as RFC 5545 writes it (section 3.3.4)."""
    return f"{day.year:04}{day.month:02}{day.day:02}"


def _own(name: str, uuids: Sequence[str]) -> Iterator[str]:
    if uuids:
        yield f"{name}:{','.join(map(escaped, uuids))}"
