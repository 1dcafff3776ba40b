"""Dates as iCalendar text and back (RFC 5545). Imported late: ``icalendar`` takes its time."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple
from uuid import NAMESPACE_URL, UUID, uuid5

from icalendar import Calendar, Event
from icalendar.parser import Contentline, split_on_unescaped_comma
from icalendar.prop import vCategory, vDDDTypes, vRecur, vText

from tunememory.dates.recurrence import MOST_WEEKS_BEFORE, parse_rule, read_day
from tunememory.errors import NotDoneError
from tunememory.store.records import Date
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import tzinfo


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
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCT)
    for dated in dates:
        calendar.add_component(_event(dated, stamp.astimezone(UTC), names or {}))
    text: bytes = calendar.to_ical(sorted=False)
    return text.decode()


class _Text(vText):
    """A text escaped as in section 3.3.11; the package takes one of its escapes for a line end."""

    def to_ical(self) -> bytes:
        """Return the text as it stands in the file."""
        text = str(self)
        for sign, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
            text = text.replace(sign, written)
        return text.encode()


def _event(dated: Date, stamp: datetime, names: Mapping[str, str]) -> Event:
    told = [names[uuid] for uuid in (*dated.sets, *dated.tunes) if uuid in names]
    facts = {
        "uid": dated.uuid,
        "dtstamp": stamp,
        "dtstart": dated.first_day,
        "dtend": dated.first_day + timedelta(days=1),
        "rrule": vRecur.from_ical(dated.rule) if dated.rule else None,
        "exdate": list(dated.except_days),
        "summary": _Text(dated.title) if dated.title else None,
        "location": _Text(dated.place) if dated.place else None,
        "categories": vCategory([dated.kind]) if dated.kind else None,
        "description": _Text("\n".join(told)) if told else None,
        OWN_TUNES: vCategory(list(dated.tunes)) if dated.tunes else None,
        OWN_SETS: vCategory(list(dated.sets)) if dated.sets else None,
        OWN_WEEKS: dated.weeks_before,
        # Nobody is busy for the whole day (section 3.8.2.7).
        "transp": "TRANSPARENT",
    }
    event = Event()
    for name, value in facts.items():
        if value:
            event.add(name, value)
    return event


MOST_CHARACTERS = 5_000_000
MOST_EVENTS = 5_000
"""Larger than any player's calendar."""

_LONGEST_WORD = 60
_ONCE = frozenset({"DTSTART", "RRULE", "UID"})


class Property(NamedTuple):
    """A line of a calendar.

    Attributes:
        line: Where it begins in the text, from 1.
        name: In capitals.
        value: As written.
        text: What the value says as a ``TEXT`` (section 3.3.11).
    """

    line: int
    name: str
    value: str
    text: str


class LeftOut(NamedTuple):
    """An event that was not taken: the line it begins on, and why."""

    line: int
    why: str


def read_calendar(text: str, zone: tzinfo) -> tuple[list[Date], list[LeftOut]]:
    """Read the events of iCalendar text as dates.

    An event at an hour counts for its day; one in UTC for the day it is in ``zone``. Its identity
    is its ``UID`` where that is one of ours, else one made of it, always the same. Other
    components are passed over; an event that cannot be taken does not keep the rest from coming.

    Returns:
        The dates, and the events that cannot be taken.

    Raises:
        NotDoneError: It is no calendar at all: one line with the number of the line.
    """
    if len(text) > MOST_CHARACTERS:
        raise NotDoneError(f"longer than {MOST_CHARACTERS:,} characters; a calendar is not so long")
    dates: dict[str, Date] = {}
    left_out: list[LeftOut] = []
    for begin, event in _events(text):
        try:
            dated = _date(event, zone)
        except NotDoneError as error:
            left_out.append(LeftOut(begin, clean_text(str(error))))
        else:
            if dated.uuid in dates:
                left_out.append(LeftOut(begin, "an event of the same UID came before"))
            dates.setdefault(dated.uuid, dated)
    return list(dates.values()), left_out


def _properties(text: str) -> Iterator[Property]:
    """Every line of a calendar, unfolded; any line end is taken, empty lines are passed over."""
    whole: list[tuple[int, list[str]]] = []
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), 1):
        if line[:1] in {" ", "\t"} and whole:
            whole[-1][1].append(line[1:])
        elif line.strip():
            whole.append((number, [line]))
    for number, pieces in whole:
        content = Contentline("".join(pieces), strict=True)
        colon = content.value_separator_index()
        try:
            name, _, text = content.parts()
        except ValueError:
            name, text = "", ""
        if not name or colon < 0:
            raise NotDoneError(f"line {number} is no line of a calendar")
        yield Property(number, name.upper(), content[colon + 1 :], text)


def _events(text: str) -> list[tuple[int, list[Property]]]:
    """Each event with the line it begins on."""
    events: list[tuple[int, list[Property]]] = []
    inside: list[str] = []
    for each in _properties(text.removeprefix("\ufeff")):
        line, name, what = each.line, each.name, each.value.strip().upper()
        if not inside and (name, what) != ("BEGIN", "VCALENDAR"):
            raise NotDoneError(f"line {line}: a calendar begins with BEGIN:VCALENDAR")
        if name == "BEGIN":
            inside.append(what)
            if inside == ["VCALENDAR", "VEVENT"]:
                if len(events) == MOST_EVENTS:
                    raise NotDoneError(f"line {line}: more than {MOST_EVENTS:,} events")
                events.append((line, []))
        elif name == "END":
            if inside[-1] != what:
                raise NotDoneError(f"line {line}: END:{inside[-1]} should stand here")
            inside.pop()
        elif inside == ["VCALENDAR", "VEVENT"]:
            events[-1][1].append(each)
    if inside:
        raise NotDoneError(f"the calendar is cut short: END:{inside[-1]} is missing")
    if not events and not text.strip("\ufeff \t\r\n"):
        raise NotDoneError("the calendar is empty")
    return events


def _date(event: Iterable[Property], zone: tzinfo) -> Date:
    given: dict[str, Property] = {}
    out: set[date] = set()
    for each in event:
        if each.name == "EXDATE":
            out.update(_day(word, each.line, zone) for word in each.value.split(","))
        elif each.name in given and each.name in _ONCE:
            raise NotDoneError(f"line {each.line}: {each.name} is given twice")
        else:
            given.setdefault(each.name, each)
    _refuse(given)
    start = given["DTSTART"]
    first_day = _day(start.value, start.line, zone)
    rule = _rule(given.get("RRULE"), first_day)
    return Date(
        uuid=_identity(given, first_day),
        title=_text(given, "SUMMARY") or "no name yet",
        first_day=first_day,
        kind=next(iter(_words(given, "CATEGORIES", _LONGEST_WORD)), ""),
        place=_text(given, "LOCATION"),
        rule=rule,
        except_days=tuple(sorted(out)) if rule else (),
        tunes=_words(given, OWN_TUNES, 64),
        sets=_words(given, OWN_SETS, 64),
        weeks_before=_weeks(given.get(OWN_WEEKS)),
    )


def _refuse(given: Mapping[str, Property]) -> None:
    if "DTSTART" not in given:
        raise NotDoneError("the event has no DTSTART, so no day")
    if "RECURRENCE-ID" in given:
        raise NotDoneError("one day of a recurring event, moved elsewhere; change it by hand")
    if "RDATE" in given:
        raise NotDoneError("further days (RDATE) beside the first; add them one by one")
    if _text(given, "STATUS").upper() == "CANCELLED":
        raise NotDoneError("the event is cancelled")


def _day(word: str, line: int, zone: tzinfo) -> date:
    """The day of a ``DATE`` or ``DATE-TIME`` value; what names a zone is a day there."""
    try:
        moment = vDDDTypes.from_ical(word.strip())
    except ValueError:
        moment = None
    if not isinstance(moment, date):
        raise NotDoneError(f"line {line}: “{word[:_LONGEST_WORD]}” is no day")
    # Only in these years does no zone lead out of the calendar.
    day = read_day(moment.isoformat()[:10])
    if isinstance(moment, datetime) and moment.tzinfo:
        return moment.astimezone(zone).date()
    return day


def _rule(given: Property | None, first_day: date) -> str:
    if given is None:
        return ""
    rule = parse_rule(given.value)
    if next(rule.days(first_day, date.max), None) is None:
        raise NotDoneError(f"line {given.line}: the rule ends before it begins")
    return rule.text


def _identity(given: Mapping[str, Property], first_day: date) -> str:
    uid = given["UID"].text.strip() if "UID" in given else ""
    try:
        return str(UUID(uid))
    except ValueError:
        known = uid or f"{first_day} {_text(given, 'SUMMARY')}"
        return str(uuid5(NAMESPACE_URL, known.encode("utf-8", "replace").decode()))


def _text(given: Mapping[str, Property], name: str) -> str:
    return clean_text(given[name].text) if name in given else ""


def _words(given: Mapping[str, Property], name: str, longest: int) -> tuple[str, ...]:
    """The texts of a property that is a list parted by commas."""
    words = split_on_unescaped_comma(given[name].value) if name in given else []
    return tuple(filter(None, (clean_text(word, limit=longest) for word in words)))


def _weeks(given: Property | None) -> int:
    if given is None:
        return 0
    value = given.value.strip()
    if not re.fullmatch(r"\d{1,3}", value, re.ASCII) or int(value) > MOST_WEEKS_BEFORE:
        raise NotDoneError(f"line {given.line}: {OWN_WEEKS} is from 0 to {MOST_WEEKS_BEFORE}")
    return int(value)
