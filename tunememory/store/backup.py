"""Copies of a repertoire file: one a day by itself, one before something is done to all of it."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing
from datetime import date
from glob import escape
from typing import TYPE_CHECKING

from tunememory.store.errors import RepertoireError, busy, explained, shown

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


WAIT = 5.0
"""Seconds to wait for another window's write to end; writes last milliseconds."""

DAYS_KEPT = 7
WEEKS_KEPT = 4
"""The newest copies kept, and the weeks before them of which the newest copy is kept."""

_PAUSE = 0.1  # seconds before a locked file is tried again


def folder_of(path: Path) -> Path:
    """Folder in which the copies of the file at ``path`` are kept."""
    return path.parent / "backups"


def copy_file(path: Path, target: Path) -> None:
    """Write a consistent copy of the file at ``path`` to ``target``, whole or not at all.

    The copy grows under another name and is moved into place when it is on the disk. It is read
    through a connection of its own: SQLite copies nothing from one that is about to write.

    Raises:
        RepertoireError: The copy could not be written; ``target`` is as it was.
    """
    partial = target.with_name(target.name + ".partial")
    with explained(target):
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        try:
            partial.unlink(missing_ok=True)
            source = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
            with closing(source), closing(sqlite3.connect(partial)) as copy:
                # Until it is moved into place the copy may be lost, so it needs no journal.
                copy.execute("PRAGMA journal_mode = OFF").fetchone()
                copy.execute("PRAGMA synchronous = OFF")
                copy_content(source, copy, path)
            _to_disk(partial)
            partial.replace(target)
            _to_disk(target.parent)
        finally:
            partial.unlink(missing_ok=True)


def back_up(path: Path, target: Path) -> None:
    """Write a copy of the file at ``path`` as it stands to a new file.

    Raises:
        RepertoireError: The copy could not be written, or ``target`` is there already.
    """
    if target.exists():
        raise RepertoireError(f"{shown(target)} is there already; give another name.")
    copy_file(path, target)


def copy_content(
    source: sqlite3.Connection, target: sqlite3.Connection, path: Path, wait: float = WAIT
) -> None:
    """Make one open database the same as another, in one transaction.

    Args:
        source: Where to copy from.
        target: Where to copy to; all that is there gives way.
        path: The file to name when a lock lasts too long.
        wait: Seconds to wait for another program that holds one of them.

    Raises:
        Busy: It held it for longer.
    """
    tries = 0

    def give_up(status: int, _remaining: int, _total: int) -> None:
        # Python's copying by itself would ask again for ever.
        nonlocal tries
        tries += status in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
        if tries * _PAUSE > wait:
            raise busy(path)

    source.backup(target, progress=give_up, sleep=_PAUSE)


def copy_before(path: Path, what: str) -> Path:
    """Copy the file at ``path`` before something is done to all of it; return the copy.

    The copy is called after the deed (``before-merge``); an earlier one of that name gives way.

    Raises:
        RepertoireError: The copy could not be written.
    """
    target = folder_of(path) / f"{path.stem}-before-{what}{path.suffix}"
    copy_file(path, target)
    return target


def daily_copies(path: Path) -> dict[date, Path]:
    """Return the daily copies of the file at ``path`` by practice day."""
    name = re.compile(
        re.escape(path.stem) + r"-([0-9]{4}-[0-9]{2}-[0-9]{2})" + re.escape(path.suffix)
    )
    copies: dict[date, Path] = {}
    folder = folder_of(path)
    if folder.is_dir():
        for entry in folder.iterdir():
            if match := name.fullmatch(entry.name):
                try:
                    copies[date.fromisoformat(match[1])] = entry
                except ValueError:
                    continue
    return copies


def copies(path: Path) -> list[Path]:
    """Return every copy that is kept of the file at ``path``, by hand or not, newest first."""
    found = folder_of(path).glob(f"{escape(path.stem)}-*{escape(path.suffix)}")
    return sorted(sorted(found), key=lambda copy: copy.stat().st_mtime, reverse=True)


def keep_daily_copy(connection: sqlite3.Connection, path: Path, day: date) -> str:
    """Copy the file as it stands if ``day`` has no copy yet, and remove copies too many.

    Called inside the first write of a day, before anything is changed, so that two windows take
    turns. A file without tunes is not copied.

    Returns:
        Why there is no copy, in one line, or an empty string. A copy that fails must never keep
        a rating from being saved.
    """
    if not connection.execute("SELECT EXISTS (SELECT 1 FROM tunes)").fetchone()[0]:
        return ""
    try:
        with explained(path):
            copies = daily_copies(path)
            if day not in copies:
                copies[day] = folder_of(path) / f"{path.stem}-{day.isoformat()}{path.suffix}"
                copy_file(path, copies[day])
                for other in set(copies) - days_to_keep(copies) - {day}:
                    copies[other].unlink(missing_ok=True)
    except RepertoireError as error:
        return str(error)
    return ""


def days_to_keep(days: Iterable[date]) -> set[date]:
    """Choose the newest seven days, and the newest day of each of four ISO weeks before them."""
    newest_first = sorted(days, reverse=True)
    kept = set(newest_first[:DAYS_KEPT])
    weeks: dict[tuple[int, int], date] = {}
    for day in newest_first[DAYS_KEPT:]:
        year, week, _ = day.isocalendar()
        weeks.setdefault((year, week), day)
    return kept | set(list(weeks.values())[:WEEKS_KEPT])


def _to_disk(path: Path) -> None:
    """Force a file, or a folder's entries, onto the disk."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        if path.is_dir():
            return  # folders cannot be opened everywhere; the file itself is safe by now
        raise
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
