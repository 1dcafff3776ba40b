"""What was done and heard, by day."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING

from tunememory.service import agenda
from tunememory.service.day_views import CalendarDay, JournalDay, JournalEntry
from tunememory.service.heard import view_of
from tunememory.service.spent import around, checks_between, minutes_of_day
from tunememory.tunes.check import Level, RoundKind, joined_by
from tunememory.tunes.text import fold
from tunememory.ways.registry import WAYS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.check import Check
    from tunememory.tunes.journal import Practice

WHOLE_DAYS = 36_600
"""Days back that the whole journal goes: a hundred years."""

MOST_FOUND = 60
"""Days a search returns at most, the newest."""


def days(desk: OpenFile, first_day: date, last_day: date) -> tuple[JournalDay, ...]:
    """Return the days from one to another, both included, newest first; empty ones are left out."""
    checks: defaultdict[date, list[Check]] = defaultdict(list)
    for check in checks_between(desk, first_day, last_day):
        checks[check.day].append(check)
    practices: defaultdict[date, list[Practice]] = defaultdict(list)
    for entry in desk.repertoire.practices(None, first_day, last_day):
        practices[entry.day].append(entry)
    heard = defaultdict(list)
    for one in desk.repertoire.heard(first_day, last_day):
        heard[one.day].append(view_of(desk, one))
    lines = desk.repertoire.pick_ups(first_day, last_day)
    with_something = checks.keys() | practices.keys() | heard.keys() | lines.keys()
    return tuple(
        JournalDay(
            day=day,
            minutes=minutes_of_day(desk, day, checks[day], practices[day]),
            asked=len(checks[day]),
            would_not_come=tuple(dict.fromkeys(_would_not_come(desk, checks[day]))),
            entries=tuple(_entries(desk, practices[day])),
            heard=tuple(heard[day]),
            pick_up=lines.get(day, ""),
        )
        for day in sorted(with_something, reverse=True)
    )


def of_tune(desk: OpenFile, uuid: str) -> tuple[JournalEntry, ...]:
    """Return what was done on one tune, newest first.

    Raises:
        ServiceError: The tune is gone.
    """
    tune = desk.tune(uuid)
    return tuple(_entries(desk, desk.repertoire.practices(tune.uuid)))[::-1]


def search(desk: OpenFile, words: str) -> tuple[JournalDay, ...]:
    """Return the days on which all of ``words`` stand in something written, newest first.

    Looked through are titles, ways, the player's words, what was heard, pick-up lines.
    """
    wanted = fold(words).split()
    if not wanted:
        return ()
    texts: defaultdict[date, list[str]] = defaultdict(list)
    for entry in _entries(desk, desk.repertoire.practices()):
        texts[entry.day] += [entry.title, entry.way_name, entry.words, entry.played_at]
    for one in desk.repertoire.heard():
        view = view_of(desk, one)
        texts[view.day] += [view.name, view.title, view.from_whom, view.alike, view.note]
    for day, line in desk.repertoire.pick_ups().items():
        texts[day].append(line)
    found = [day for day, said in texts.items() if _holds(fold(" ".join(said)), wanted)]
    newest = sorted(found, reverse=True)[:MOST_FOUND]
    return tuple(one for day in newest for one in days(desk, day, day))


def calendar(desk: OpenFile, first_day: date, last_day: date) -> tuple[CalendarDay, ...]:
    """Return every day from one to another, both included."""
    checks = desk.repertoire.checks_by_day(*around(first_day, last_day))
    minutes: defaultdict[date, float] = defaultdict(float)
    for entry in desk.repertoire.practices(None, first_day, last_day):
        minutes[entry.day] += entry.minutes
    titles: defaultdict[date, list[str]] = defaultdict(list)
    for day, title in agenda.between(desk, first_day, last_day):
        titles[day].append(title)
    every = (first_day + timedelta(days=n) for n in range((last_day - first_day).days + 1))
    return tuple(
        CalendarDay(
            day, minutes[day], checks.get(day, 0), agenda.is_off(desk, day), tuple(titles[day])
        )
        for day in every
    )


def _holds(text: str, words: Iterable[str]) -> bool:
    """Whether each word begins a word of ``text``."""
    spaced = f" {text}"
    return all(f" {word}" in spaced for word in words)


def _entries(desk: OpenFile, practices: Iterable[Practice]) -> Iterator[JournalEntry]:
    for entry in practices:
        tune = desk.tunes.get(entry.tune)
        dated = desk.dates.get(entry.played_at)
        gone = "a date that was removed" if entry.played_at else ""
        yield JournalEntry(
            uuid=entry.uuid,
            day=entry.day,
            at=entry.at,
            tune=tune.uuid if tune else "",
            title=tune.title if tune else "a tune that was removed" if entry.tune else "",
            way=entry.way,
            way_name=WAYS[entry.way].name if entry.way in WAYS else entry.way,
            words=entry.words,
            minutes=entry.minutes,
            head_only=entry.head_only,
            played_at=dated.title if dated else gone,
        )


def _would_not_come(desk: OpenFile, checks: Iterable[Check]) -> Iterator[str]:
    for check in checks:
        if check.round_kind is RoundKind.LAST:
            continue
        strand, level = min(check.levels, key=lambda pair: pair[1])
        tune = desk.tunes.get(joined_by(strand) or check.tune)
        if level < Level.FIND and tune is not None:
            yield tune.title
