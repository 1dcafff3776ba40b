"""Making and changing dates and days off, and calendars in and out."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from tunememory.dates.agenda import date_of, dates_of, days_off_of
from tunememory.dates.recurrence import MOST_WEEKS_BEFORE, occurrences
from tunememory.dates.words import When, date_words, parse_when, when_words
from tunememory.errors import NotDoneError
from tunememory.library.exporting import write_file
from tunememory.library.sets import name_of
from tunememory.session import About
from tunememory.store.records import Date, DayOff, new_identity
from tunememory.text import clean_text
from tunememory.words import day_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from tunememory.dates.ics import LeftOut
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class DateDraft:
    """A date as typed; ``tunes`` and ``sets`` are identities."""

    when: str = ""
    title: str = ""
    kind: str = ""
    place: str = ""
    tunes: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    weeks_before: int = 0


@dataclass(frozen=True, slots=True)
class DayOffView:
    """Days off, ``when`` in words."""

    uuid: str
    when: str
    note: str


@dataclass(frozen=True, slots=True)
class DatesTaken:
    """What came of a calendar."""

    taken: int
    changed: int
    unchanged: int
    left_out: list[LeftOut]


PREVIEWED = 4
"""Days of a date shown before it is kept."""

_LOOK_AHEAD = timedelta(days=3 * 366)
_MOST_BYTES = 20_000_001
"""Read of a calendar; more is more than ``MOST_CHARACTERS`` whatever they are."""

_LONG = timedelta(days=200)
"""Days off that last longer are a slip, the days in the wrong order, unless a year is given."""

_YEAR = re.compile(r"\b\d{4}\b")


def preview_when(session: Session, text: str) -> tuple[str, tuple[date, ...]]:
    """Return what was typed as it was understood, and the next days it means.

    Raises:
        NotDoneError: It cannot be read: one line, and what can be written.
    """
    when = parse_when(text, session.day())
    made = Date("", "", when.first_day, rule=when.rule, except_days=when.except_days)
    last = when.first_day + _LOOK_AHEAD
    days = occurrences(made, when.first_day, last)
    return when_words(when, session.day()), days[:PREVIEWED]


def save_date(session: Session, draft: DateDraft, uuid: str = "") -> Date:
    """Make a date, or change the one of identity ``uuid``.

    Raises:
        NotDoneError: The date, a tune or a set is gone, a field cannot be read, or the file
            cannot be written.
    """
    old = date_of(session, uuid) if uuid else None
    when = _kept_when(session, draft.when, old) or parse_when(draft.when, session.day())
    title = clean_text(draft.title) or clean_text(draft.kind) or clean_text(draft.place)
    if not title:
        raise NotDoneError("a date needs a name: “Kitchen session”, “Barn dance”")
    if not 0 <= draft.weeks_before <= MOST_WEEKS_BEFORE:
        raise NotDoneError(f"a season wakes its tunes from 0 to {MOST_WEEKS_BEFORE} weeks before")
    for one in draft.sets:
        if one not in session.sets:
            raise NotDoneError(f"that {session.settings.set_word} is no longer there")
    kept = Date(
        uuid=uuid or new_identity(),
        title=title,
        first_day=when.first_day,
        kind=clean_text(draft.kind).casefold(),
        place=clean_text(draft.place),
        rule=when.rule,
        except_days=when.except_days,
        tunes=tuple(session.tune(tune).uuid for tune in dict.fromkeys(draft.tunes)),
        sets=tuple(dict.fromkeys(draft.sets)),
        weeks_before=draft.weeks_before,
    )
    with session.changing():
        session.repertoire.dates.save(kept)
    session.changed(About.SETS)
    return kept


def date_draft(session: Session, uuid: str) -> DateDraft:
    """Return a date as it would be typed.

    Raises:
        NotDoneError: It is gone.
    """
    dated = date_of(session, uuid)
    return DateDraft(
        when=date_words(dated, session.day()),
        title=dated.title,
        kind=dated.kind,
        place=dated.place,
        tunes=dated.tunes,
        sets=dated.sets,
        weeks_before=dated.weeks_before,
    )


def set_wanted(
    session: Session,
    uuid: str,
    tunes: tuple[str, ...] | None = None,
    sets: tuple[str, ...] | None = None,
) -> None:
    """Say which tunes, and which sets, are wanted at a date; ``None`` leaves them.

    Raises:
        NotDoneError: The date, a tune or a set is gone, or the file cannot be written.
    """
    draft = date_draft(session, uuid)
    wanted = (draft.tunes if tunes is None else tunes, draft.sets if sets is None else sets)
    save_date(session, replace(draft, tunes=wanted[0], sets=wanted[1]), uuid)


def remove_date(session: Session, uuid: str) -> None:
    """Take a date out; what was played there stays in the journal.

    Raises:
        NotDoneError: It is gone, or the file cannot be written.
    """
    date_of(session, uuid)
    with session.changing():
        session.repertoire.dates.remove(uuid)
    session.changed(About.SETS)


def all_days_off(session: Session) -> tuple[DayOffView, ...]:
    """Return the days off in words."""
    return tuple(
        DayOffView(off.uuid, _off_words(session, off), off.note) for off in days_off_of(session)
    )


def add_day_off(session: Session, text: str, note: str = "") -> DayOffView:
    """Take days off: one day, ``2 August to 14 August``, or ``every Sunday``.

    Raises:
        NotDoneError: It cannot be read, or the file cannot be written.
    """
    begin, _, end = clean_text(text).partition(" to ")
    when = parse_when(begin, session.day())
    last = when.first_day
    if end:
        if when.rule:
            raise NotDoneError("days off come round by a rule, or last to a day, not both")
        last = parse_when(end, when.first_day).first_day
        if last < when.first_day:
            raise NotDoneError("the last day off is before the first")
        if last - when.first_day > _LONG and not _YEAR.search(end):
            raise NotDoneError(f"that would be until {day_words(last)}: give the year if it is so")
    elif when.except_days:
        raise NotDoneError("write the rule without its exceptions")
    off = DayOff(new_identity(), when.first_day, last, when.rule, clean_text(note))
    with session.changing():
        session.repertoire.days_off.save(off)
    session.changed(About.SETS)
    return DayOffView(off.uuid, _off_words(session, off), off.note)


def remove_day_off(session: Session, uuid: str) -> None:
    """Take days off back.

    Raises:
        NotDoneError: They are gone, or the file cannot be written.
    """
    with session.changing():
        session.repertoire.days_off.remove(uuid)
    session.changed(About.SETS)


def to_calendar(session: Session) -> str:
    """Return every date as iCalendar text (RFC 5545)."""
    from tunememory.dates.ics import write_calendar  # noqa: PLC0415 - as said there

    names = {uuid: tune.title for uuid, tune in session.tunes.items()}
    names |= {uuid: name_of(session, one) for uuid, one in session.sets.items()}
    return write_calendar(dates_of(session).values(), session.now(), names)


def export_dates(session: Session, path: Path) -> None:
    """Write every date to an iCalendar file.

    Raises:
        NotDoneError: The file cannot be written; what was there before is as it was.
    """
    write_file(path, to_calendar(session))


def import_dates(session: Session, path: Path) -> DatesTaken:
    """Take the events of an iCalendar file in as dates; the same file twice adds nothing.

    An event that is here already keeps its tunes and sets where the calendar names none.

    Raises:
        NotDoneError: The file cannot be read at all, or ours cannot be written.
    """
    from tunememory.dates.ics import read_calendar  # noqa: PLC0415 - as said there

    name = clean_text(str(path))
    try:
        with path.open("rb") as file:
            text = file.read(_MOST_BYTES).decode("utf-8", "replace")
    except OSError as error:
        why = (error.strerror or "cannot be read").lower()
        raise NotDoneError(f"{name}: {why}") from error
    try:
        dates, left_out = read_calendar(text, session.clock.zone)
    except NotDoneError as error:
        raise NotDoneError(f"{name}: {error}") from error
    taken = changed = 0
    with session.changing():
        for dated in dates:
            old = dates_of(session).get(dated.uuid)
            ours = _ours(session, dated, old)
            if ours != old:
                session.repertoire.dates.save(ours)
                taken += old is None
                changed += old is not None
    session.changed(About.SETS)
    return DatesTaken(taken, changed, len(dates) - taken - changed, left_out)


def _ours(session: Session, dated: Date, old: Date | None) -> Date:
    """A date of a calendar with the tunes and sets that this repertoire has."""
    tunes = tuple(uuid for uuid in dated.tunes if uuid in session.tunes)
    sets = tuple(uuid for uuid in dated.sets if uuid in session.sets)
    if old is not None and not dated.tunes and not dated.sets:
        tunes, sets = old.tunes, old.sets
        dated = replace(dated, weeks_before=dated.weeks_before or old.weeks_before)
    return replace(dated, tunes=tunes, sets=sets)


def _kept_when(session: Session, text: str, old: Date | None) -> When | None:
    """When the old date was, if that was not changed: its past days stay as they were."""
    if old is not None and clean_text(text) == date_words(old, session.day()):
        return When(old.first_day, old.rule, old.except_days)
    return None


def _off_words(session: Session, off: DayOff) -> str:
    first = when_words(When(off.first_day, off.rule), session.day())
    if off.rule or off.last_day == off.first_day:
        return first
    return f"{first} to {when_words(When(off.last_day), session.day())}"
