"""The commands about practice: log, pickup, journal, heard, ways."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli.opening import moment_of, one_tune, open_session_of
from tunememory.cli.output import one_line, print_json
from tunememory.errors import NotDoneError
from tunememory.music.ways.registry import WAYS
from tunememory.practice.heard import NO_NAME, all_heard, heard_facts, write_heard
from tunememory.practice.journal import (
    WHOLE_DAYS,
    day_facts,
    entry_facts,
    export_journal,
    journal_days,
    search_journal,
)
from tunememory.practice.sitting import pick_up_today, set_pick_up
from tunememory.practice.ways import log_practice, material_of, way_named, ways_of, write_way
from tunememory.words import minutes_words, weekday_words

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from tunememory.practice.heard import HeardTune
    from tunememory.practice.journal import JournalDay
    from tunememory.practice.ways import TuneWay
    from tunememory.session import Session


_LISTED_JOURNAL = 14
"""Days of the journal that are listed when no number is given; an export takes them all."""

_LISTED_DAYS = 30
"""Days of what was heard that are listed."""


def log(options: argparse.Namespace) -> int:
    """Write down practice of a tune."""
    with open_session_of(options) as session:
        tune = one_tune(session, options.name)
        at = moment_of(options.at, session.clock) if options.at else None
        entry = log_practice(
            session,
            tune.uuid,
            options.way,
            options.minutes,
            words=options.words,
            head_only=options.head,
            at=at,
        )
        way = WAYS[entry.way].name if entry.way else ""
        head = "in the head" if entry.head_only else ""
        minutes = minutes_words(entry.minutes)
        print(one_line("noted", tune.title, way, entry.words, minutes, head))
    return 0


def pickup(options: argparse.Namespace) -> int:
    """Write the line to the next time, or read the last one."""
    line = " ".join(options.line)
    with open_session_of(options) as session:
        if line:
            set_pick_up(session, line)
        next_time = pick_up_today(session)
        earlier = session.repertoire.pick_ups.last(session.day())
        if next_time:
            print(f"for next time: {next_time}")
        elif earlier:
            print(f"{weekday_words(earlier[0])}: {earlier[1]}")
        else:
            print("No line yet: tunememory pickup LINE.")
    return 0


def journal(options: argparse.Namespace) -> int:
    """Print the journal, newest day first, or write it to a file."""
    with open_session_of(options) as session:
        last = session.day()
        number = options.days or (WHOLE_DAYS if options.export else _LISTED_JOURNAL)
        first = last - timedelta(days=number - 1)
        if options.export:
            number = export_journal(session, Path(options.export).expanduser(), first, last)
            print(f"wrote {number} {'day' if number == 1 else 'days'} to {options.export}")
            return 0
        found = (
            search_journal(session, options.search)
            if options.search
            else journal_days(session, first, last)
        )
        if options.json:
            print_json(found)
            return 0
        for day in found:
            for line in _day(day):
                print(line)
        if not found:
            print("Nothing written on these days.")
    return 0


def heard(options: argparse.Namespace) -> int:
    """Write down a tune heard, or list what was."""
    name = " ".join(options.name)
    with open_session_of(options) as session:
        if name or options.from_whom or options.like or options.note:
            found = [write_heard(session, name, options.from_whom, options.like, options.note)]
        else:
            found = list(all_heard(session, session.day() - timedelta(days=_LISTED_DAYS)))
        if options.json:
            print_json(found)
            return 0
        for line in found:
            print(f"  {line.day.isoformat()}  {_heard(line)}")
        if not found:
            print("Nothing heard lately.")
    return 0


def _day(day: JournalDay) -> Iterator[str]:
    yield one_line(weekday_words(day.day), *day_facts(day))
    if day.would_not_come:
        yield f"  would not come: {'; '.join(day.would_not_come)}"
    for entry in day.entries:
        yield f"  {one_line(entry.title or 'practice', *entry_facts(entry))}"
    for line in day.heard:
        yield f"  heard: {_heard(line)}"
    if day.pick_up:
        yield f"  pick up here: {day.pick_up}"


def _heard(line: HeardTune) -> str:
    return one_line(line.name or NO_NAME, *heard_facts(line))


_DAYS_SHOWN = 5
"""Last days on which a way was done that are listed."""


def ways(options: argparse.Namespace) -> int:
    """Print every way of working on a tune and when it was done, or what one brings."""
    with open_session_of(options) as session:
        tune = one_tune(session, options.name)
        if options.way:
            return _one_way(session, tune.uuid, options)
        found = ways_of(session, tune.uuid)
        if options.write:
            ids = ", ".join(WAYS)
            raise NotDoneError(f"name the way to write after the tune: {ids}")
        if options.json:
            print_json([_way_view(one) for one in found])
            return 0
        for one in found:
            done = ", ".join(day.isoformat() for day in one.done[-_DAYS_SHOWN:])
            said = "next" if one.next else "" if one.material.possible else "not here"
            print("  " + one_line(f"{one.way.id:<11}{one.way.name:<26}", done, said).rstrip())
    return 0


def _way_view(one: TuneWay) -> dict[str, object]:
    return {
        "id": one.way.id,
        "name": one.way.name,
        "purpose": one.way.purpose,
        "possible": one.material.possible,
        "caution": one.material.caution,
        "done": one.done,
        "next": one.next,
    }


def _one_way(session: Session, tune: str, options: argparse.Namespace) -> int:
    way = way_named(options.way) or options.way
    if options.write:
        path = Path(options.write).expanduser()
        write_way(session, path, tune, way)
        print(f"wrote it to {path}")
        return 0
    made = material_of(session, tune, way)
    if options.json:
        print_json({"way": way, "heading": made.heading, "lines": made.lines,
                    "caution": made.caution})  # fmt: skip
        return 0
    for line in filter(None, (made.heading, made.caution, *made.lines)):
        print(line)
    return 0
