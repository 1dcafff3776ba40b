"""What the first picture needs, read at a glance, before all that opening a repertoire takes."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date
from typing import TYPE_CHECKING

from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from pathlib import Path


def glance(path: Path, name: str) -> str | None:
    """Return the JSON text of one setting, or an empty string when it was never saved.

    Nothing is checked and nothing is written; a file that is not there yet has no settings.

    Args:
        path: The repertoire file.
        name: Name of the setting.

    Returns:
        The text, or ``None`` when the file cannot be read just like that.
    """
    if not path.exists():
        return ""
    row = _first_row(path, "SELECT value FROM settings WHERE name = ?", name)
    return row if row is None else str(row[0]) if row else ""


def glance_pick_up(path: Path, before: date) -> tuple[date, str] | None:
    """Return the newest pick-up line of a day before ``before``, with its day.

    Returns:
        ``None`` when there is none, or when the file cannot be read just like that.
    """
    if not path.exists():
        return None
    row = _first_row(
        path,
        "SELECT day, line FROM pick_ups WHERE line <> '' AND day < ? ORDER BY day DESC LIMIT 1",
        before.isoformat(),
    )
    try:
        return (date.fromisoformat(str(row[0])), clean_text(str(row[1]))) if row else None
    except ValueError:
        return None


def _first_row(path: Path, sql: str, value: str) -> tuple[object, ...] | None:
    """The first row, empty when there is none; ``None`` when the file cannot be asked."""
    try:
        address = f"{path.resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=0)) as connection:
            row: tuple[object, ...] | None = connection.execute(sql, (value,)).fetchone()
    except (sqlite3.Error, OSError, ValueError):
        return None
    return row or ()
