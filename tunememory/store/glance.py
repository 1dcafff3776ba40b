"""What the first picture needs, read at a glance, before all that opening a repertoire takes."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from tunememory.clock import DAY_ENDS_AT_HOUR
from tunememory.text import clean_text

if TYPE_CHECKING:
    from pathlib import Path

    from tunememory.clock import Clock


class Glance(NamedTuple):
    """What a file says of the day at first sight. Nothing of it was checked.

    Attributes:
        day: The present practice day.
        theme: JSON text of the setting, empty when it was never saved.
        pick_up: The newest pick-up line of an earlier day, with its day.
    """

    day: date
    theme: str = ""
    pick_up: tuple[date, str] | None = None


def glance(path: Path, clock: Clock) -> Glance | None:
    """Look at a repertoire file without opening it in order. Nothing is written.

    Args:
        path: The file; one that is not there yet says nothing.
        clock: Tells the day.

    Returns:
        ``None`` when the file cannot be read just like that.
    """
    if not path.exists():
        return Glance(clock.day())
    try:
        address = f"{path.resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=0)) as connection:
            return _look(connection, clock)
    except (sqlite3.Error, OSError, ValueError):
        return None


def _look(connection: sqlite3.Connection, clock: Clock) -> Glance:
    settings = dict(
        connection.execute(
            "SELECT name, value FROM settings WHERE name IN ('theme', 'day_ends_at')"
        )
    )
    day = clock.day(_hour(settings.get("day_ends_at", "")))
    theme = str(settings.get("theme", ""))
    try:
        line = connection.execute(
            "SELECT day, line FROM pick_ups WHERE line <> '' AND day < ? ORDER BY day DESC LIMIT 1",
            (day.isoformat(),),
        ).fetchone()
    except sqlite3.OperationalError:
        # Of an earlier format, which has no such tables yet.
        return Glance(day, theme)
    return Glance(day, theme, _pick_up(line))


def _pick_up(row: tuple[object, object] | None) -> tuple[date, str] | None:
    try:
        return (date.fromisoformat(str(row[0])), clean_text(str(row[1]))) if row else None
    except ValueError:
        return None


def _hour(text: str) -> int:
    """The hour at which a day ends, from the JSON text of the setting."""
    try:
        hour = json.loads(text)
    except ValueError:
        return DAY_ENDS_AT_HOUR
    return hour if type(hour) is int and 0 <= hour <= 12 else DAY_ENDS_AT_HOUR
