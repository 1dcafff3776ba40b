"""The commands about a practice day: log, pickup, journal, heard."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.cli.as_json import print_view
from tunememory.cli.naming import one_tune
from tunememory.cli.opening import moment_of, open_desk_of
from tunememory.cli.wording import day_words, one_line, round_minutes
from tunememory.service.journal import WHOLE_DAYS
from tunememory.service.practising import WAY_NAMES

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from tunememory.service.day_views import HeardView, JournalDay, JournalEntry

_LISTED_JOURNAL = 14
"""Days of the journal that are listed when no number is given; an export takes them all."""

_LISTED_DAYS = 30
"""Days of what was heard that are listed."""


def log(options: argparse.Namespace) -> int:
    """Write down practice of a tune."""
    with open_desk_of(options) as desk:
        tune = one_tune(desk, options.name)
        at = moment_of(options.at, desk.clock) if options.at else None
        entry = desk.log_practice(
            tune.uuid,
            options.way,
            options.minutes,
            words=options.words,
            head_only=options.head,
            at=at,
        )
        done = WAY_NAMES.get(entry.way, "")
        about = "in the head" if entry.head_only else ""
        spent = round_minutes(entry.minutes)
        print(one_line("noted", tune.title, done, entry.words, spent, about))
    return 0


def pickup(options: argparse.Namespace) -> int:
    """Write the line to the next time, or read the last one."""
    line = " ".join(options.line)
    with open_desk_of(options) as desk:
        if line:
            desk.set_pick_up(line)
        now = desk.sitting()
        if now.own_pick_up:
            print(f"for next time: {now.own_pick_up}")
        elif now.pick_up_day:
            print(f"{day_words(now.pick_up_day)}: {now.pick_up}")
        else:
            print("No line yet: tunememory pickup LINE.")
    return 0


def journal(options: argparse.Namespace) -> int:
    """Print the journal, newest day first, or write it to a file."""
    with open_desk_of(options) as desk:
        last = desk.day()
        number = options.days or (WHOLE_DAYS if options.export else _LISTED_JOURNAL)
        first = last - timedelta(days=number - 1)
        if options.export:
            number = desk.export_journal(Path(options.export).expanduser(), first, last)
            print(f"wrote {number} {'day' if number == 1 else 'days'} to {options.export}")
            return 0
        found = desk.search_journal(options.search) if options.search else desk.journal(first, last)
        if options.json:
            print_view(found)
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
    with open_desk_of(options) as desk:
        if name or options.from_whom or options.like or options.note:
            found = [desk.hear(name, options.from_whom, options.like, options.note)]
        else:
            found = list(desk.heard(desk.day() - timedelta(days=_LISTED_DAYS)))
        if options.json:
            print_view(found)
            return 0
        for line in found:
            print(f"  {line.day.isoformat()}  {_heard(line)}")
        if not found:
            print("Nothing heard lately.")
    return 0


def _day(day: JournalDay) -> Iterator[str]:
    minutes = day.minutes
    yield one_line(
        day_words(day.day),
        round_minutes(minutes.instrument),
        f"{round_minutes(minutes.head)} in the head" if minutes.head >= 0.5 else "",
        f"{day.asked} asked" if day.asked else "",
    )
    if day.would_not_come:
        yield f"  would not come: {'; '.join(day.would_not_come)}"
    for entry in day.entries:
        yield f"  {_entry(entry)}"
    for line in day.heard:
        yield f"  heard: {_heard(line)}"
    if day.pick_up:
        yield f"  pick up here: {day.pick_up}"


def _entry(entry: JournalEntry) -> str:
    if entry.played_at:
        return f"played at {entry.played_at}: {entry.title}"
    return one_line(
        entry.title or "practice",
        entry.way_name,
        " ".join(entry.words.split()),
        round_minutes(entry.minutes),
        "in the head" if entry.head_only else "",
    )


def _heard(line: HeardView) -> str:
    return one_line(
        line.name or "no name yet",
        f"from {line.from_whom}" if line.from_whom else "",
        f"like {line.alike}" if line.alike else "",
        " ".join(line.note.split()),
        f"that was {line.title}" if line.title not in {"", line.name} else "",
    )
