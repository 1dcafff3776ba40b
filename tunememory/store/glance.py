"""One setting read at a glance, before everything that opening a repertoire takes is loaded."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

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
    try:
        address = f"{path.resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=0)) as connection:
            row = connection.execute(
                "SELECT value FROM settings WHERE name = ?", (name,)
            ).fetchone()
    except (sqlite3.Error, OSError, ValueError):
        return None
    return str(row[0]) if row else ""
