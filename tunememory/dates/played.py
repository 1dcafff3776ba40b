"""What was played at a date that has been."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from tunememory.dates.agenda import date_of, dates_of
from tunememory.dates.recurrence import last_occurrence, next_occurrence, tunes_of
from tunememory.errors import NotDoneError
from tunememory.history import record_practice, withdraw_practice
from tunememory.recall.check import Practice
from tunememory.store.records import new_identity
from tunememory.words import weekday_words

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from tunememory.session import Session
    from tunememory.store.records import Date


ASKED_AFTER_DAYS = 3
"""For so many days after a date it is asked what was played there."""


class Played(NamedTuple):
    """A tune by identity and title, and whether it was played there."""

    tune: str
    title: str
    played: bool


@dataclass(frozen=True, slots=True)
class PastDate:
    """A date that has been, its day, and the tunes that were wanted."""

    dated: Date
    on: date
    tunes: tuple[Played, ...]


def to_ask_about(
    dates: Iterable[Date], day: date, answered: Iterable[tuple[str, date]]
) -> list[tuple[date, Date]]:
    """Return the dates of the last days of which it is not said yet what was played there.

    The latest first. The day itself counts once it is over, so from the next day on.

    Args:
        dates: All dates.
        day: The practice day.
        answered: Identity and day of every date that was answered, or waved away.

    Returns:
        Days and dates.

    Raises:
        NotDoneError: The rule of a date cannot be read.
    """
    done = set(answered)
    found = []
    for dated in dates:
        on = last_occurrence(dated, day)
        if on is not None and (day - on).days <= ASKED_AFTER_DAYS and (dated.uuid, on) not in done:
            found.append((on, dated))
    return sorted(found, key=lambda past: (-past[0].toordinal(), past[1].title))


def dates_to_tell(session: Session) -> tuple[PastDate, ...]:
    """Return the dates of the last days of which it is not said yet what was played there."""
    answered = session.repertoire.dates.answered()
    found = []
    for on, dated in to_ask_about(dates_of(session).values(), session.day(), answered):
        if wanted := tunes_of(dated, session.sets):
            played = _played(session, dated.uuid, on)
            here = [session.tunes[uuid] for uuid in wanted if uuid in session.tunes]
            tunes = tuple(Played(one.uuid, one.title, one.uuid in played) for one in here)
            found.append(PastDate(dated, on, tunes))
    return tuple(found)


def played_there(session: Session, uuid: str, day: date, tunes: Iterable[str]) -> None:
    """Say which tunes were played at a date; each counts as met. Twice is no fault.

    Raises:
        NotDoneError: The date or a tune is gone, the day lies ahead or is none of the date's, or
            the file cannot be written; nothing was.
    """
    dated = date_of(session, uuid)
    if day > session.day():
        raise NotDoneError("that day has not come yet")
    _refuse_other_day(session, dated, day)
    before = _played(session, uuid, day)
    wanted = [session.tune(tune).uuid for tune in dict.fromkeys(tunes)]
    at = session.evening_of(day)
    with session.changing():
        for tune in wanted:
            if tune not in before:
                entry = Practice(new_identity(), at, day, tune=tune, played_at=dated.uuid)
                record_practice(session, entry)
        session.repertoire.dates.answer(uuid, day)


def _refuse_other_day(session: Session, dated: Date, day: date) -> None:
    """Refuse a day on which the date does not fall, naming the nearest that has come."""
    before = last_occurrence(dated, day + timedelta(days=1))
    if before == day:
        return
    after = next_occurrence(dated, day)
    come = [found for found in (before, after) if found is not None and found <= session.day()]
    wrong = f"{dated.title} does not fall on {weekday_words(day)}"
    if come:
        near = min(come, key=lambda found: abs(found - day))
        raise NotDoneError(f"{wrong}; the nearest day it does is {weekday_words(near)}")
    if after is not None:
        raise NotDoneError(f"{wrong}; it begins on {weekday_words(after)}")
    raise NotDoneError(wrong)


def not_played_there(session: Session, uuid: str, day: date, tune: str) -> None:
    """Take back that a tune was played at a date.

    Raises:
        NotDoneError: The file cannot be written.
    """
    entry = _played(session, uuid, day).get(tune)
    if entry is not None:
        withdraw_practice(session, entry)


def ask_no_more(session: Session, uuid: str, day: date) -> None:
    """Ask no more what was played at a date.

    Raises:
        NotDoneError: The file cannot be written.
    """
    with session.changing():
        session.repertoire.dates.answer(uuid, day)


def _played(session: Session, uuid: str, day: date) -> dict[str, Practice]:
    """What was played at a date on one day, by tune."""
    entries = session.repertoire.practices.all(None, day, day)
    return {entry.tune: entry for entry in entries if entry.played_at == uuid}
