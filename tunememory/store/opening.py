"""Opening a repertoire file: is it ours, is it whole, is it up to date.

An up-to-date file is opened with the standard library alone; sqlite-utils is loaded only when
there are tables to make. Nothing is written to a file before it is known to be ours.

Settings of the connection: rollback journal, so that there is one file at rest (a folder that is
copied to other machines must never hold half of the data in a second file), and
``synchronous = EXTRA``, so that a commit is on the disk, directory entry included, when it returns
(sqlite.org/pragma.html).
"""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing
from datetime import date
from glob import escape
from typing import TYPE_CHECKING

from tunememory.store.errors import (
    Newer,
    ReadOnly,
    RepertoireError,
    Unknown,
    busy,
    damaged,
    explained,
    not_ours,
    shown,
)
from tunememory.store.schema import APPLICATION_ID, STEPS, Step

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from sqlite_utils import Database, Migrations


WAIT = 5.0
"""Seconds to wait for another window's write to end; writes last milliseconds."""


def connect(
    path: Path,
    *,
    create: bool,
    readonly: bool,
    wait: float = WAIT,
    older: bool = False,
    steps: Sequence[Step] = STEPS,
) -> sqlite3.Connection:
    """Open the repertoire at ``path``, making or bringing it up to date where needed.

    Args:
        path: The file.
        create: Make the file, and its folder for this user alone, when there is none.
        readonly: Open without leave to write; such a file has to be up to date.
        wait: Seconds to wait for another writer.
        older: Leave a file of an earlier format as it is, to be copied.
        steps: The migrations a file must have had.

    Returns:
        A connection without implicit transactions, for use in this thread.

    Raises:
        RepertoireError: With the reason; the file is as it was.
    """
    with explained(path):
        new = _is_new(path)
        if new and (readonly or not create):
            raise _nothing_there(path)
        if new:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        else:
            _refuse_foreign(path, len(steps))
        connection = _open(path, "ro" if readonly else "rwc" if new else "rw")
        try:
            _set_up(connection, wait)
            version = _checked_version(connection, path, len(steps), create=create)
            if not readonly:
                # A tool of the player's may have changed this, and the file remembers it.
                connection.execute("PRAGMA journal_mode = DELETE").fetchone()
            if version < len(steps) and not older:
                _bring_up_to_date(connection, path, readonly=readonly, steps=steps)
        except BaseException:
            connection.close()
            raise
    return connection


def _is_new(path: Path) -> bool:
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        return True
    if path.is_dir():
        raise not_ours(path, "a folder")
    # An empty file with a journal beside it is one whose making was cut short.
    return size == 0


def _nothing_there(path: Path) -> RepertoireError:
    if path.exists():
        return not_ours(path, "empty, not a repertoire file")
    return Unknown(f"{shown(path)} does not exist; check the name.")


def _open(path: Path, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None
    )


def _refuse_foreign(path: Path, latest: int) -> None:
    """Look at the header alone, with no locks and no recovery, and refuse what is not ours.

    An ordinary opening of another program's database could finish that program's work in it.
    The header is read through SQLite: closing a plain file handle would drop the locks of every
    other connection this process has on the file (POSIX advisory locks).
    """
    try:
        with closing(_open(path, "ro&immutable=1")) as peek:
            application, version, tables = _marks(peek)
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) == sqlite3.SQLITE_NOTADB and not _cut_short(path):
            raise not_ours(path, "not a repertoire file") from error
        # Half-written, damaged or locked: an ordinary opening tells which.
        return
    except UnicodeDecodeError:  # from a damaged table of tables
        return
    if application == 0 and not tables and _cut_short(path):
        return
    _refuse(path, application, version, latest)


def _cut_short(path: Path) -> bool:
    """Whether a write was cut short, so that even the header may not be as it was."""
    return path.with_name(path.name + "-journal").exists()


def _refuse(path: Path, application: int, version: int, latest: int) -> None:
    if application != APPLICATION_ID:
        raise not_ours(path, "a database of another program")
    if version > latest:
        raise Newer(
            f"{shown(path)} was written by a newer version (format {version}, this one knows "
            f"{latest}); it was left as it is. Update tunememory."
        )


def _set_up(connection: sqlite3.Connection, wait: float) -> None:
    connection.execute(f"PRAGMA busy_timeout = {round(wait * 1000)}")
    for setting in (
        "foreign_keys = ON",
        "trusted_schema = OFF",
        "recursive_triggers = OFF",
        "synchronous = EXTRA",
        "cell_size_check = ON",
    ):
        connection.execute(f"PRAGMA {setting}")


def _marks(connection: sqlite3.Connection) -> tuple[int, int, bool]:
    """Return application id, format version, and whether there are any tables."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (tables,) = connection.execute("SELECT EXISTS (SELECT 1 FROM sqlite_master)").fetchone()
    return application, version, bool(tables)


def _checked_version(
    connection: sqlite3.Connection, path: Path, latest: int, *, create: bool
) -> int:
    """Return the format version of a file that is ours, or 0 of a new one."""
    application, version, tables = _marks(connection)
    if create and not (application or version or tables):
        return 0
    _refuse(path, application, version, latest)
    if not tables:
        raise damaged(path, "it has no tables")
    # SQLite takes a last page that is cut short for one that ends in zeros.
    (expected,) = connection.execute(
        "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size"
    ).fetchone()
    if path.stat().st_size < expected:
        raise damaged(path, "its end is missing")
    return version


def _bring_up_to_date(
    connection: sqlite3.Connection, path: Path, *, readonly: bool, steps: Sequence[Step]
) -> None:
    if readonly:
        raise ReadOnly(
            f"{shown(path)} has an earlier format; open it once with leave to write, "
            "and it is brought up to date."
        )
    migrate(connection, path, steps)


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
    """Return every copy that is kept of the file at ``path``, made by hand or not."""
    folder = folder_of(path)
    if not folder.is_dir():
        return []
    return sorted(folder.glob(f"{escape(path.stem)}-*{escape(path.suffix)}"))


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


SET_NAME = "tunememory"
"""Name under which sqlite-utils records our steps in the file."""


def migrate(connection: sqlite3.Connection, path: Path, steps: Sequence[Step]) -> None:
    """Apply every step the file has not had, in one transaction.

    A file that already has tables is first copied to ``backups/NAME-before-format-N``. Two
    processes may come here at once: the second waits, then finds nothing to do.

    Raises:
        Newer: The file has had a step this version does not know.
        Damaged: Rows point at rows that are not there.
        sqlite3.Error: From the database; nothing was changed.
    """
    # Steps may rebuild tables that others point at, so the pointers are checked at the end.
    connection.execute("PRAGMA foreign_keys = OFF")
    try:
        connection.execute("BEGIN IMMEDIATE")
        try:
            _apply(connection, path, steps)
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
    finally:
        connection.execute("PRAGMA foreign_keys = ON")


def tables_in(connection: sqlite3.Connection) -> Database:
    """Return an open file's tables, to be looked into by name."""
    # Not at the top: a file that is up to date must not pay for it.
    from sqlite_utils import Database  # noqa: PLC0415

    return Database(connection, recursive_triggers=False, execute_plugins=False)


def _apply(connection: sqlite3.Connection, path: Path, steps: Sequence[Step]) -> None:
    database = tables_in(connection)
    migrations = _as_migrations(steps)
    unknown = {applied.name for applied in migrations.applied(database)}
    unknown.difference_update(step.name for step in steps)
    if unknown:
        raise Newer(
            f"{shown(path)} was written by a newer version; it was left as it is. "
            "Update tunememory."
        )
    if not migrations.pending(database):
        return
    if database.table_names():
        copy_before(path, f"format-{len(steps)}")
    migrations.apply(database)
    if connection.execute("PRAGMA foreign_key_check").fetchone():
        raise damaged(path, "rows point at rows that are missing")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {len(steps)}")


def _as_migrations(steps: Sequence[Step]) -> Migrations:
    from sqlite_utils import Migrations  # noqa: PLC0415 - as for ``tables_in``

    migrations = Migrations(SET_NAME)
    for step in steps:
        migrations(name=step.name)(_runner(step.sql))
    return migrations


def _runner(sql: str) -> Callable[[Database], None]:
    def run(db: Database) -> None:
        db.executescript(sql)

    return run
