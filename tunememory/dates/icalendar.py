"""Content lines of iCalendar text (RFC 5545, section 3.1): folding, escaping, parameters."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import NAMESPACE_URL, UUID, uuid5

from tunememory.dates.recurrence import parse_rule, read_day
from tunememory.errors import NotDoneError
from tunememory.store.records import Date
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import tzinfo


MOST_OCTETS = 75
"""Length of a line before it is folded, without its end."""

_NAME = re.compile(r"[A-Za-z0-9-]+")
_PARAMETER = re.compile(r';([A-Za-z0-9-]+)=((?:"[^"]*"|[^";:,]*)(?:,(?:"[^"]*"|[^";:,]*))*)')
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class ContentLine:
    """One property.

    Attributes:
        number: Line of the text it begins on, from 1.
        name: In capitals.
        value: As written, still escaped.
        parameters: By name in capitals; quotes taken off.
    """

    number: int
    name: str
    value: str
    parameters: dict[str, str] = field(default_factory=dict)


def fold(line: str) -> str:
    """Return a content line folded at 75 octets, with its line end; characters stay whole."""
    pieces: list[str] = []
    octets = 0
    piece = ""
    for character in line:
        size = len(character.encode("utf-8"))
        if octets + size > MOST_OCTETS:
            pieces.append(piece)
            # The blank that begins a continued line counts.
            piece, octets = "", 1
        piece += character
        octets += size
    pieces.append(piece)
    return "\r\n ".join(pieces) + "\r\n"


def escaped(text: str) -> str:
    """Return text as the value of a ``TEXT`` property (section 3.3.11)."""
    for sign in ("\\", ";", ","):
        text = text.replace(sign, "\\" + sign)
    return text.replace("\n", "\\n")


def unescaped(value: str) -> str:
    """Return the text of a ``TEXT`` value."""
    return _ESCAPE.sub(lambda found: "\n" if found[1] in "nN" else found[1], value)


def split_list(value: str) -> list[str]:
    """Return the texts of a value that is a list parted by commas."""
    return [unescaped(piece) for piece in re.findall(r"(?:[^,\\]|\\.)+", value, re.DOTALL)]


def content_lines(text: str) -> Iterator[ContentLine]:
    """Yield the properties of iCalendar text; any line end is taken, empty lines are passed over.

    Raises:
        NotDoneError: A line that is no property, with its number.
    """
    number = 0
    whole = ""
    for count, line in enumerate(re.split(r"\r\n|\n|\r", text), 1):
        if line[:1] in {" ", "\t"} and whole:
            whole += line[1:]
            continue
        if whole.strip():
            yield _property(whole, number)
        number, whole = count, line
    if whole.strip():
        yield _property(whole, number)


def _property(line: str, number: int) -> ContentLine:
    name = _NAME.match(line)
    if name is None:
        raise NotDoneError(f"line {number} is no line of a calendar")
    place = name.end()
    parameters: dict[str, str] = {}
    while found := _PARAMETER.match(line, place):
        parameters[found[1].upper()] = found[2].replace('"', "")
        place = found.end()
    if line[place : place + 1] != ":":
        raise NotDoneError(f"line {number} is no line of a calendar")
    return ContentLine(number, name[0].upper(), line[place + 1 :], parameters)


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


MOST_CHARACTERS = 5_000_000
MOST_EVENTS = 5_000
MOST_WEEKS = 52
"""Larger than any player's calendar."""

_LONGEST_WORD = 60
_ONCE = frozenset({"DTSTART", "RRULE", "UID"})
_MOMENT = re.compile(r"(\d{8})(?:T(\d{6})(Z?))?", re.ASCII)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An event that was not taken.

    Attributes:
        line: Line of the text it begins on.
        why: In one line.
    """

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class CalendarRead:
    """What was found in a calendar."""

    dates: tuple[Date, ...]
    left_out: tuple[LeftOut, ...]


def read_calendar(text: str, zone: tzinfo) -> CalendarRead:
    """Read the events of iCalendar text as dates.

    An event at an hour counts for its day; one in UTC for the day it is in ``zone``. Its identity
    is its ``UID`` where that is one of ours, else one made of it, always the same. Other
    components are passed over; an event that cannot be taken does not keep the rest from coming.

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
    return CalendarRead(tuple(dates.values()), tuple(left_out))


def _events(text: str) -> list[tuple[int, list[ContentLine]]]:
    """Each event with the line it begins on."""
    events: list[tuple[int, list[ContentLine]]] = []
    inside: list[str] = []
    for line in content_lines(text.removeprefix("\ufeff")):
        what = line.value.strip().upper()
        if line.name == "BEGIN":
            if not inside and what != "VCALENDAR":
                raise NotDoneError(f"line {line.number}: a calendar begins with BEGIN:VCALENDAR")
            inside.append(what)
            if inside == ["VCALENDAR", "VEVENT"]:
                if len(events) == MOST_EVENTS:
                    raise NotDoneError(f"line {line.number}: more than {MOST_EVENTS:,} events")
                events.append((line.number, []))
        elif not inside:
            raise NotDoneError(f"line {line.number}: a calendar begins with BEGIN:VCALENDAR")
        elif line.name == "END":
            if inside[-1] != what:
                raise NotDoneError(f"line {line.number}: END:{inside[-1]} should stand here")
            inside.pop()
        elif inside == ["VCALENDAR", "VEVENT"]:
            events[-1][1].append(line)
    if inside:
        raise NotDoneError(f"the calendar is cut short: END:{inside[-1]} is missing")
    if not events and not text.strip("\ufeff \t\r\n"):
        raise NotDoneError("the calendar is empty")
    return events


def _date(event: Sequence[ContentLine], zone: tzinfo) -> Date:
    by_name: dict[str, ContentLine] = {}
    out: list[date] = []
    for line in event:
        if line.name == "EXDATE":
            out += [_day(word, line, zone) for word in line.value.split(",")]
        elif line.name in by_name and line.name in _ONCE:
            raise NotDoneError(f"line {line.number}: {line.name} is given twice")
        else:
            by_name.setdefault(line.name, line)
    _refuse(by_name)
    start = by_name["DTSTART"]
    first_day = _day(start.value, start, zone)
    rule = _rule(by_name.get("RRULE"), first_day)
    categories = split_list(by_name["CATEGORIES"].value) if "CATEGORIES" in by_name else []
    return Date(
        uuid=_identity(by_name, first_day),
        title=_text(by_name, "SUMMARY") or "no name yet",
        first_day=first_day,
        kind=clean_text(categories[0], limit=_LONGEST_WORD) if categories else "",
        place=_text(by_name, "LOCATION"),
        rule=rule,
        except_days=tuple(sorted(set(out))) if rule else (),
        tunes=_own_list(by_name, OWN_TUNES),
        sets=_own_list(by_name, OWN_SETS),
        weeks_before=_weeks(by_name),
    )


def _refuse(by_name: dict[str, ContentLine]) -> None:
    if "DTSTART" not in by_name:
        raise NotDoneError("the event has no DTSTART, so no day")
    if "RECURRENCE-ID" in by_name:
        raise NotDoneError("one day of a recurring event, moved elsewhere; change it by hand")
    if "RDATE" in by_name:
        raise NotDoneError("further days (RDATE) beside the first; add them one by one")
    if _text(by_name, "STATUS").upper() == "CANCELLED":
        raise NotDoneError("the event is cancelled")


def _day(word: str, line: ContentLine, zone: tzinfo) -> date:
    found = _MOMENT.fullmatch(word.strip())
    if found is None:
        raise NotDoneError(f"line {line.number}: “{word[:_LONGEST_WORD]}” is no day")
    day = read_day(found[1])
    if not found[3]:
        return day
    try:
        moment = datetime.strptime(found[1] + found[2] + "+0000", "%Y%m%d%H%M%S%z")
    except ValueError:
        raise NotDoneError(f"line {line.number}: “{word}” is no moment") from None
    return moment.astimezone(zone).date()


def _rule(line: ContentLine | None, first_day: date) -> str:
    if line is None:
        return ""
    rule = parse_rule(line.value)
    if next(rule.days(first_day, date.max), None) is None:
        raise NotDoneError(f"line {line.number}: the rule ends before it begins")
    return rule.text


def _identity(by_name: dict[str, ContentLine], first_day: date) -> str:
    uid = unescaped(by_name["UID"].value).strip() if "UID" in by_name else ""
    try:
        return str(UUID(uid))
    except ValueError:
        known = uid or f"{first_day} {_text(by_name, 'SUMMARY')}"
        return str(uuid5(NAMESPACE_URL, known.encode("utf-8", "replace").decode()))


def _text(by_name: dict[str, ContentLine], name: str) -> str:
    return clean_text(unescaped(by_name[name].value)) if name in by_name else ""


def _own_list(by_name: dict[str, ContentLine], name: str) -> tuple[str, ...]:
    words = split_list(by_name[name].value) if name in by_name else []
    return tuple(clean_text(word, limit=64) for word in words if clean_text(word))


def _weeks(by_name: dict[str, ContentLine]) -> int:
    line = by_name.get(OWN_WEEKS)
    if line is None:
        return 0
    value = line.value.strip()
    if not re.fullmatch(r"\d{1,3}", value, re.ASCII) or int(value) > MOST_WEEKS:
        raise NotDoneError(f"line {line.number}: {OWN_WEEKS} is from 0 to {MOST_WEEKS}")
    return int(value)
