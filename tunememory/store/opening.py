"""Opening a repertoire file: is it ours, is it whole, is it up to date.

Nothing is written to a file before it is known to be ours. An up-to-date file is opened with the
standard library alone.

Settings of the connection: rollback journal, so that there is one file at rest (a folder that is
copied to other machines must never hold half of the data in a second file), and
``synchronous = EXTRA``, so that a commit is on the disk, directory entry included, when it returns
(sqlite.org/pragma.html).
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from tunememory.store.backup import WAIT
from tunememory.store.errors import (
    Newer,
    ReadOnly,
    RepertoireError,
    Unknown,
    damaged,
    explained,
    not_ours,
    shown,
)
from tunememory.store.schema import APPLICATION_ID, STEPS, Step, migrate

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


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
