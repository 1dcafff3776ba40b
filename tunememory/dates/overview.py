"""Dates to be ready for: how they stand, and what was played at them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from tunememory.dates import agenda
from tunememory.dates.agenda import dates_of, days_off_of, to_ask_about
from tunememory.dates.readiness import Days, Readiness, forecast, leave_out
from tunememory.dates.recurrence import last_occurrence, next_occurrence, playing_days, tunes_of
from tunememory.dates.words import When, when_words
from tunememory.errors import NotDoneError
from tunememory.history.days import pace_of, prompts_in
from tunememory.history.recording import record_practice, withdraw_practice
from tunememory.library.overview import rows_of
from tunememory.library.sets import name_of
from tunememory.recall.check import Practice
from tunememory.store.records import new_identity

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from tunememory.dates.readiness import Forecast
    from tunememory.session import Session
    from tunememory.store.records import Date


@dataclass(frozen=True, slots=True)
class DateTune:
    """A tune wanted at a date.

    Attributes:
        chance: Of starting it now.
        untouched: On the day if nothing is done.
        kept: On the day if the plan is kept.
        played: When it was last played there.
    """

    tune: str
    title: str
    key: str
    tuning: str
    chance: float
    untouched: float
    kept: float
    readiness: Readiness
    played: date | None


@dataclass(frozen=True, slots=True)
class DateView:
    """A date and how ready it finds the player.

    Attributes:
        when: In words.
        on: Its next day, ``None`` when it is over.
        days: Days until then.
        wanted: How many tunes, those of its sets included.
        ready: How many are ready as it is.
        will_be: How many more will be if the plan is kept.
        tunes: Not yet ready ones first; only where one date is looked at.
        leave_out: Titles to leave out if under half can be ready.
        sets: Names of its sets.
    """

    uuid: str
    title: str
    kind: str
    place: str
    when: str
    on: date | None
    days: int | None
    wanted: int
    ready: int
    will_be: int
    sets: tuple[str, ...]
    tunes: tuple[DateTune, ...] = ()
    leave_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PastDate:
    """A date that has been; ``tunes`` are ``(identity, title, played there)``."""

    uuid: str
    title: str
    on: date
    tunes: tuple[tuple[str, str, bool], ...]


LOOKED_AHEAD = 120
"""Days before a date in which the plan may ask its tunes; nobody plans further ahead."""


def all_dates(session: Session) -> tuple[DateView, ...]:
    """Return every date, those that come soonest first, then those that are over, newest first."""
    coming = agenda.coming(session)
    still = {dated.uuid for _, dated in coming}
    over = [dated for dated in dates_of(session).values() if dated.uuid not in still]
    over.sort(key=lambda dated: (-dated.first_day.toordinal(), dated.title, dated.uuid))
    return (
        *(_view(session, dated, on) for on, dated in coming),
        *(_view(session, dated, None) for dated in over),
    )


def next_ones(session: Session, most: int) -> tuple[DateView, ...]:
    """Return the next dates, soonest first."""
    return tuple(_view(session, dated, on) for on, dated in agenda.coming(session)[:most])


def date_view(session: Session, uuid: str) -> DateView:
    """Return one date with its tunes, and what to leave out if under half can be ready.

    Raises:
        NotDoneError: It is gone.
    """
    dated = one(session, uuid)
    days = {coming.uuid: on for on, coming in agenda.coming(session)}
    return _view(session, dated, days.get(uuid), whole=True)


def one(session: Session, uuid: str) -> Date:
    """Return a date.

    Raises:
        NotDoneError: It is gone.
    """
    try:
        return dates_of(session)[uuid]
    except KeyError:
        raise NotDoneError("that date is no longer there") from None


def dates_to_tell(session: Session) -> tuple[PastDate, ...]:
    """Return the dates of the last days of which it is not said yet what was played there."""
    if not dates_of(session):
        return ()
    told = session.repertoire.dates.answered()
    found = agenda.readable(
        lambda: to_ask_about(dates_of(session).values(), session.sets, session.day(), told)
    )
    return tuple(
        PastDate(
            past.date.uuid,
            past.date.title,
            past.on,
            tuple(
                (uuid, session.tune(uuid).title, uuid in _played(session, past.date.uuid, past.on))
                for uuid in past.tunes
                if uuid in session.tunes
            ),
        )
        for past in found
        if past.tunes
    )


def played_there(session: Session, uuid: str, day: date, tunes: Iterable[str]) -> None:
    """Say which tunes were played at a date; each counts as met. Twice is no fault.

    Raises:
        NotDoneError: The date or a tune is gone, the day lies ahead or is none of the date's, or
            the file cannot be written; nothing was.
    """
    dated = one(session, uuid)
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
    before = agenda.readable(lambda: last_occurrence(dated, day + timedelta(days=1)))
    if before == day:
        return
    after = agenda.readable(lambda: next_occurrence(dated, day))
    come = [found for found in (before, after) if found is not None and found <= session.day()]
    wrong = f"{dated.title} does not fall on {_named(day)}"
    if come:
        near = min(come, key=lambda found: abs(found - day))
        raise NotDoneError(f"{wrong}; the nearest day it does is {_named(near)}")
    if after is not None:
        raise NotDoneError(f"{wrong}; it begins on {_named(after)}")
    raise NotDoneError(wrong)


def _named(day: date) -> str:
    return when_words(When(day), day)


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


def words_of(session: Session, dated: Date) -> str:
    """Return when a date takes place, in words that are read back the same today."""
    when = When(dated.first_day, dated.rule, dated.except_days)
    return agenda.readable(lambda: when_words(when, session.day()))


def _played(session: Session, uuid: str, day: date) -> dict[str, Practice]:
    """What was played at a date on one day, by tune."""
    entries = session.repertoire.practices.all(None, day, day)
    return {entry.tune: entry for entry in entries if entry.played_at == uuid}


def _view(session: Session, dated: Date, on: date | None, *, whole: bool = False) -> DateView:
    uuids = [uuid for uuid in tunes_of(dated, session.sets) if uuid in session.tunes]
    said, days = None, None
    if on is not None and uuids:
        days = _days(session, on)
        said = forecast(session.remembered.some(uuids), session.params, days)
    counts = [said.of(row) for row in range(len(uuids))] if said else []
    tunes: tuple[DateTune, ...] = ()
    out: tuple[str, ...] = ()
    if whole:
        tunes = _tunes(session, dated, uuids, said)
        if days is not None:
            places = leave_out(session.remembered.some(uuids), session.params, days)
            out = tuple(session.tune(uuids[place]).title for place in places)
    return DateView(
        uuid=dated.uuid,
        title=dated.title,
        kind=dated.kind,
        place=dated.place,
        when=words_of(session, dated),
        on=on,
        days=None if on is None else (on - session.day()).days,
        wanted=len(uuids),
        ready=counts.count(Readiness.READY),
        will_be=counts.count(Readiness.WILL_BE),
        sets=tuple(
            name_of(session, session.sets[uuid]) for uuid in dated.sets if uuid in session.sets
        ),
        tunes=tunes,
        leave_out=out,
    )


def _days(session: Session, on: date) -> Days:
    today = session.day()
    first = max(today, on - timedelta(days=LOOKED_AHEAD))
    playing = agenda.readable(lambda: playing_days(first, on, days_off_of(session)))
    return Days(session.now_days(), today, on, playing, prompts_in(session, pace_of(session)))


def _tunes(
    session: Session, dated: Date, uuids: list[str], said: Forecast | None
) -> tuple[DateTune, ...]:
    """The tunes of a date, those least ready first; of one that is over in their order."""
    played = session.repertoire.practices.last_played_at(dated.uuid)
    found = [
        DateTune(
            tune=row.uuid,
            title=row.title,
            key=row.key,
            tuning=row.tuning,
            chance=row.chance.chance,
            untouched=float(said.untouched[place]) if said else row.chance.chance,
            kept=float(said.kept[place]) if said else row.chance.chance,
            readiness=said.of(place) if said else Readiness.NOT_YET,
            played=played.get(row.uuid),
        )
        for place, row in enumerate(rows_of(session, uuids))
    ]
    order = np.argsort(said.kept, kind="stable") if said else range(len(found))
    return tuple(found[int(place)] for place in order)
