"""What was done and heard, by day."""

from __future__ import annotations

import csv
import io
import re
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, TypeVar

from tunememory.dates import agenda
from tunememory.dates.agenda import dates_of
from tunememory.history import around, checks_between
from tunememory.library.exporting import harmless, write_form
from tunememory.music.ways.registry import WAYS
from tunememory.practice.heard import NO_NAME, HeardTune, all_heard, heard_facts, titled
from tunememory.practice.sitting import Minutes, minutes_of_day, would_not_come
from tunememory.text import fold, word_finder
from tunememory.words import counted, minutes_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from tunememory.recall.check import Check, Practice
    from tunememory.session import Session


OnADay = TypeVar("OnADay", "Check", "Practice", HeardTune)


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """Something practised or played.

    Attributes:
        tune: Identity, empty for work on no tune.
        title: Of the tune, empty for none.
        way: Id of the way, empty for none.
        way_name: Its name.
        played_at: Title of the date it was played at, empty for practice.
    """

    uuid: str
    day: date
    at: datetime
    tune: str
    title: str
    way: str
    way_name: str
    words: str
    minutes: float
    head_only: bool
    played_at: str


@dataclass(frozen=True, slots=True)
class JournalDay:
    """All of one day.

    Attributes:
        asked: How many prompts were answered.
        would_not_come: Titles with a level below 3 in a cold check, each once.
    """

    day: date
    minutes: Minutes
    asked: int
    would_not_come: tuple[str, ...]
    entries: tuple[JournalEntry, ...]
    heard: tuple[HeardTune, ...]
    pick_up: str


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """A day of the calendar; ``dates`` are the titles of what takes place."""

    day: date
    minutes: float
    asked: int
    off: bool
    dates: tuple[str, ...]


WHOLE_DAYS = 36_600
"""Days back that the whole journal goes: a hundred years."""

MOST_FOUND = 60
"""Days a search returns at most, the newest."""


def journal_days(session: Session, first_day: date, last_day: date) -> tuple[JournalDay, ...]:
    """Return the days from one to another, both included, newest first; empty ones are left out."""
    checks = _by_day(checks_between(session, first_day, last_day))
    practices = _by_day(session.repertoire.practices.all(None, first_day, last_day))
    heard = _by_day(
        titled(session, one) for one in session.repertoire.heard.all(first_day, last_day)
    )
    lines = session.repertoire.pick_ups.all(first_day, last_day)
    with_something = checks.keys() | practices.keys() | heard.keys() | lines.keys()
    return tuple(
        JournalDay(
            day=day,
            minutes=minutes_of_day(session, day, checks[day], practices[day]),
            asked=len(checks[day]),
            would_not_come=_titles(session, would_not_come(checks[day])),
            entries=tuple(_entries(session, practices[day])),
            heard=tuple(heard[day]),
            pick_up=lines.get(day, ""),
        )
        for day in sorted(with_something, reverse=True)
    )


def journal_of(session: Session, uuid: str) -> tuple[JournalEntry, ...]:
    """Return what was done on one tune, newest first.

    Raises:
        NotDoneError: The tune is gone.
    """
    tune = session.tune(uuid)
    return tuple(_entries(session, session.repertoire.practices.all(tune.uuid)))[::-1]


def search_journal(session: Session, words: str) -> tuple[JournalDay, ...]:
    """Return the days on which all of ``words`` stand in something written, newest first.

    Looked through are titles, ways, the player's words, what was heard, pick-up lines.
    """
    if not fold(words):
        return ()
    found = word_finder(words)
    texts: defaultdict[date, list[str]] = defaultdict(list)
    for entry in _entries(session, session.repertoire.practices.all()):
        texts[entry.day] += [entry.title, entry.way_name, entry.words, entry.played_at]
    for one in all_heard(session):
        texts[one.day] += [one.name, one.title, one.from_whom, one.alike, one.note]
    for day, line in session.repertoire.pick_ups.all().items():
        texts[day].append(line)
    days = [day for day, written in texts.items() if found(fold(" ".join(written)))]
    newest = sorted(days, reverse=True)[:MOST_FOUND]
    return tuple(one for day in newest for one in journal_days(session, day, day))


def is_empty(session: Session) -> bool:
    """Whether nothing is written on any day."""
    file = session.repertoire
    return not (
        file.checks.count() or file.practices.all() or file.heard.all() or file.pick_ups.all()
    )


def calendar_days(session: Session, first_day: date, last_day: date) -> tuple[CalendarDay, ...]:
    """Return every day from one to another, both included."""
    checks = session.repertoire.checks.by_day(*around(first_day, last_day))
    minutes: defaultdict[date, float] = defaultdict(float)
    for entry in session.repertoire.practices.all(None, first_day, last_day):
        minutes[entry.day] += entry.minutes
    dates: defaultdict[date, list[str]] = defaultdict(list)
    for day, title in agenda.between(session, first_day, last_day):
        dates[day].append(title)
    every = (first_day + timedelta(days=n) for n in range((last_day - first_day).days + 1))
    return tuple(
        CalendarDay(
            day=day,
            minutes=minutes[day],
            asked=checks.get(day, 0),
            off=agenda.is_off(session, day),
            dates=tuple(dates[day]),
        )
        for day in every
    )


def _by_day(rows: Iterable[OnADay]) -> defaultdict[date, list[OnADay]]:
    found: defaultdict[date, list[OnADay]] = defaultdict(list)
    for row in rows:
        found[row.day].append(row)
    return found


def _titles(session: Session, uuids: Iterable[str]) -> tuple[str, ...]:
    found = (session.tunes[uuid].title for uuid in uuids if uuid in session.tunes)
    return tuple(dict.fromkeys(found))


def _entries(session: Session, practices: Iterable[Practice]) -> Iterator[JournalEntry]:
    for entry in practices:
        tune = session.tunes.get(entry.tune)
        dated = dates_of(session).get(entry.played_at)
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


def day_facts(day: JournalDay) -> list[str]:
    """Say how long was practised and how much was asked on a day, fact by fact."""
    parts = (
        (day.minutes.instrument, "played"),
        (day.minutes.head, "in the head"),
        (day.minutes.rounds, "in rounds"),
    )
    facts = [f"{minutes_words(minutes)} {how}" for minutes, how in parts if minutes_words(minutes)]
    if day.asked:
        facts.append(counted(day.asked, "check"))
    return facts


def entry_facts(entry: JournalEntry) -> list[str]:
    """Say what was done, its tune aside, fact by fact."""
    facts = (
        f"played at {entry.played_at}" if entry.played_at else entry.way_name,
        " ".join(entry.words.split()),
        minutes_words(entry.minutes),
        "in the head" if entry.head_only else "",
    )
    return [fact for fact in facts if fact]


COLUMNS = ("day", "what", "tune", "way", "words", "minutes", "in the head", "at", "from", "like")

_SIGNS = re.compile(r"([\\`*_{}\[\]<>#|~])")


def to_markdown(journal: Sequence[JournalDay]) -> str:
    """Return days of the journal as Markdown, the oldest first."""
    lines = (line for day in reversed(journal) for line in _markdown(day))
    return "\n".join(lines).lstrip("\n") + "\n"


def to_csv(journal: Sequence[JournalDay]) -> str:
    """Return days of the journal as comma-separated values (RFC 4180), the oldest first."""
    text = io.StringIO()
    table = csv.DictWriter(text, COLUMNS, restval="")
    table.writeheader()
    for day in reversed(journal):
        for row in _rows(day):
            known = {column: harmless(value) for column, value in row.items()}
            table.writerow({"day": day.day.isoformat(), **known})
    return text.getvalue()


def export_journal(session: Session, path: Path, first_day: date, last_day: date) -> int:
    """Write days of the journal to a file, ``.md`` or ``.csv`` by its name; return how many.

    Raises:
        NotDoneError: The name says neither, or the file cannot be written.
    """
    days = journal_days(session, first_day, last_day)
    write_form(path, {".md": lambda: to_markdown(days), ".csv": lambda: to_csv(days)})
    return len(days)


def _markdown(day: JournalDay) -> Iterator[str]:
    yield ""
    yield f"## {day.day.isoformat()}"
    yield ""
    about = day_facts(day)
    if about:
        yield f"- {', '.join(about)}"
    if day.would_not_come:
        yield f"- would not come: {'; '.join(map(_plain, day.would_not_come))}"
    for entry in day.entries:
        yield f"- {_markdown_entry(entry)}"
    for heard in day.heard:
        yield f"- heard: {', '.join(map(_plain, (heard.name or NO_NAME, *heard_facts(heard))))}"
    if day.pick_up:
        yield f"- **pick up here:** {_plain(day.pick_up)}"


def _markdown_entry(entry: JournalEntry) -> str:
    if entry.played_at:
        return f"played at {_plain(entry.played_at)}: {_plain(entry.title)}"
    what = ", ".join(filter(None, (entry.way_name, _plain(entry.words))))
    head = "in the head" if entry.head_only else ""
    about = ", ".join(filter(None, (minutes_words(entry.minutes), head)))
    line = ": ".join(filter(None, (_plain(entry.title), what))) or "practice"
    return f"{line} ({about})" if about else line


def _rows(day: JournalDay) -> Iterator[dict[str, str]]:
    for title in day.would_not_come:
        yield {"what": "would not come", "tune": title}
    for entry in day.entries:
        yield {
            "what": "played" if entry.played_at else "practised",
            "tune": entry.title,
            "way": entry.way_name,
            "words": entry.words,
            "minutes": f"{entry.minutes:g}" if entry.minutes else "",
            "in the head": "yes" if entry.head_only else "",
            "at": entry.played_at,
        }
    for heard in day.heard:
        yield {
            "what": "heard",
            "tune": heard.title or heard.name,
            "words": heard.note,
            "from": heard.from_whom,
            "like": heard.alike,
        }
    if day.pick_up:
        yield {"what": "pick up here", "words": day.pick_up}


def _plain(text: str) -> str:
    """Text on one line that Markdown takes as it stands."""
    return _SIGNS.sub(r"\\\1", " ".join(text.split()))
