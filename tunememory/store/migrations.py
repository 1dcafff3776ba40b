"""Bringing a file up to date: all pending steps or none, after a copy of what is there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlite_utils import Database, Migrations

from tunememory.store.backups import copy_before
from tunememory.store.errors import Newer, damaged, shown
from tunememory.store.schema import APPLICATION_ID, Step

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Sequence
    from pathlib import Path

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


def _apply(connection: sqlite3.Connection, path: Path, steps: Sequence[Step]) -> None:
    database = Database(connection, recursive_triggers=False, execute_plugins=False)
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
    migrations = Migrations(SET_NAME)
    for step in steps:
        migrations(name=step.name)(_runner(step.sql))
    return migrations


def _runner(sql: str) -> Callable[[Database], None]:
    def run(db: Database) -> None:
        db.executescript(sql)

    return run
