"""The journal as Markdown and as a table."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

from tunememory.service.errors import ServiceError
from tunememory.service.exporting import harmless, write_file
from tunememory.service.journal import days

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from pathlib import Path

    from tunememory.service.day_views import HeardView, JournalDay, JournalEntry
    from tunememory.service.open_file import OpenFile

COLUMNS = ("day", "what", "tune", "way", "words", "minutes", "in the head", "at", "from", "like")

_SIGNS = re.compile(r"([\\`*_{}\[\]<>#|~])")


def to_markdown(journal: Sequence[JournalDay]) -> str:
    """Return days of the journal as Markdown, the oldest first."""
    return "\n".join(line for day in reversed(journal) for line in _day(day)).lstrip("\n") + "\n"


def to_csv(journal: Sequence[JournalDay]) -> str:
    """Return days of the journal as comma-separated values (RFC 4180), the oldest first."""
    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    for day in reversed(journal):
        for row in _rows(day):
            rows.writerow([harmless(value) for value in row])
    return text.getvalue()


def export(desk: OpenFile, path: Path, first_day: date, last_day: date) -> int:
    """Write days of the journal to a file, ``.md`` or ``.csv`` by its name; return how many.

    Raises:
        ServiceError: The name says neither, or the file cannot be written.
    """
    forms = {".md": to_markdown, ".csv": to_csv}
    form = forms.get(path.suffix.lower())
    if form is None:
        raise ServiceError("the file ends in .md or .csv")
    journal = days(desk, first_day, last_day)
    write_file(path, form(journal))
    return len(journal)


def _day(day: JournalDay) -> Iterator[str]:
    yield ""
    yield f"## {day.day.isoformat()}"
    yield ""
    minutes = day.minutes
    told = [
        f"{spent:.0f} min {what}"
        for spent, what in (
            (minutes.instrument, "with the instrument"),
            (minutes.head, "in the head"),
            (minutes.rounds, "in rounds"),
        )
        if spent >= 0.5
    ]
    if day.asked:
        told.append("1 prompt" if day.asked == 1 else f"{day.asked} prompts")
    if told:
        yield f"- {', '.join(told)}"
    if day.would_not_come:
        yield f"- would not come: {'; '.join(map(_plain, day.would_not_come))}"
    for entry in day.entries:
        yield f"- {_entry(entry)}"
    for heard in day.heard:
        yield f"- heard: {_heard(heard)}"
    if day.pick_up:
        yield f"- **pick up here:** {_plain(day.pick_up)}"


def _entry(entry: JournalEntry) -> str:
    if entry.played_at:
        return f"played at {_plain(entry.played_at)}: {_plain(entry.title)}"
    what = ", ".join(filter(None, (entry.way_name, _plain(entry.words))))
    facts = [
        f"{entry.minutes:.0f} min" if entry.minutes >= 0.5 else "",
        "in the head" if entry.head_only else "",
    ]
    about = ", ".join(filter(None, facts))
    line = ": ".join(filter(None, (_plain(entry.title), what))) or "practice"
    return f"{line} ({about})" if about else line


def _heard(heard: HeardView) -> str:
    name = _plain(heard.name) or "no name yet"
    facts = [
        f"from {_plain(heard.from_whom)}" if heard.from_whom else "",
        f"like {_plain(heard.alike)}" if heard.alike else "",
        _plain(heard.note),
        f"that was {_plain(heard.title)}" if heard.title not in {"", heard.name} else "",
    ]
    return ", ".join(filter(None, (name, *facts)))


def _rows(day: JournalDay) -> Iterator[tuple[str, ...]]:
    on = day.day.isoformat()
    for title in day.would_not_come:
        yield (on, "would not come", title, "", "", "", "", "", "", "")
    for entry in day.entries:
        yield (
            on,
            "played" if entry.played_at else "practised",
            entry.title,
            entry.way_name,
            entry.words,
            f"{entry.minutes:g}" if entry.minutes else "",
            "yes" if entry.head_only else "",
            entry.played_at,
            "",
            "",
        )
    for heard in day.heard:
        name = heard.title or heard.name
        yield (on, "heard", name, "", heard.note, "", "", "", heard.from_whom, heard.alike)
    if day.pick_up:
        yield (on, "pick up here", "", "", day.pick_up, "", "", "", "", "")


def _plain(text: str) -> str:
    """Text on one line that Markdown takes as it stands."""
    return _SIGNS.sub(r"\\\1", " ".join(text.split()))
