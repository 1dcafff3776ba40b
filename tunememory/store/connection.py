"""What every repository stands on: one open file, one way to write, one way to read."""

from __future__ import annotations

import json
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from tunememory.store.backup import keep_daily_copy
from tunememory.store.errors import ReadOnly, RepertoireError, Unknown, damaged, explained, shown
from tunememory.text import TITLE_LIMIT, clean_text

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator
    from pathlib import Path

    from tunememory.clock import Clock


class RepertoireFile:
    """An open repertoire file. One thread uses it; another thread opens its own.

    Attributes:
        connection: For this package alone.
        path: Where the file is.
        clock: Dates edits and daily copies.
        readonly: Whether it was opened without leave to write.
        backup_problem: Why today's copy of the file could not be made; empty when it was.
        revision_seen: The ``revision`` that all read so far is of.
    """

    def __init__(
        self, connection: sqlite3.Connection, path: Path, clock: Clock, *, readonly: bool
    ) -> None:
        self.connection = connection
        self.path = path
        self.readonly = readonly
        self.backup_problem = ""
        self.clock = clock
        self._writing = False
        self._copied_on: date | None = None
        self.revision_seen = self.revision()

    def close(self) -> None:
        """Close the file; anything not committed is dropped."""
        self.connection.close()

    def revision(self) -> int:
        """Number that changes whenever another window or program has written the file."""
        with explained(self.path):
            (number,) = self.connection.execute("PRAGMA data_version").fetchone()
        return int(number)

    def changed_elsewhere(self) -> bool:
        """Whether someone else has written the file since this was last asked, or since opening."""
        seen, self.revision_seen = self.revision_seen, self.revision()
        return seen != self.revision_seen

    @contextmanager
    def writing(self, *, copied: bool = True) -> Iterator[None]:
        """Make everything in the block one change of the file: all of it or none.

        Inside another such block it joins that one. When the outermost block ends the change is
        on the disk.

        Args:
            copied: Keep the day's copy of the file first; only what can be worked out again at
                any time goes without.

        Raises:
            RepertoireError: The file cannot be written; nothing of the block was kept.
        """
        if self._writing:
            if not self.connection.in_transaction:
                raise RepertoireError(
                    f"{shown(self.path)}: an earlier step failed; nothing of this was saved."
                )
            with explained(self.path):
                yield
            return
        if self.readonly:
            raise ReadOnly(f"{shown(self.path)} is open for reading only; nothing was changed.")
        self._writing = True
        try:
            with explained(self.path):
                self.connection.execute("BEGIN IMMEDIATE")
                try:
                    if copied:
                        self._keep_copy()
                    yield
                    self.connection.execute("COMMIT")
                except BaseException:
                    self._end_unchanged()
                    raise
        finally:
            self._writing = False

    @contextmanager
    def reading(self) -> Iterator[None]:
        """See one state of the file throughout the block.

        Raises:
            RepertoireError: The file cannot be read, or holds what it should not.
        """
        with explained(self.path):
            inside = self.connection.in_transaction
            if not inside:
                self.connection.execute("BEGIN")
            try:
                yield
            except KeyError as error:
                raise damaged(self.path, f"unknown value {error}") from error
            except ValueError as error:
                raise damaged(self.path, str(error)) from error
            finally:
                if not inside:
                    self._end_unchanged()

    def number_of(self, what: str, uuid: str) -> int:
        """Return the number by which rows point at a tune, set, date or round, removed or not.

        Raises:
            Unknown: The file has no such row.
        """
        row = self.connection.execute(
            f"SELECT {what}_id FROM {what}s WHERE uuid = ?", (uuid,)
        ).fetchone()
        if row is None:
            raise self.unknown(what, uuid)
        return int(row[0])

    def edit_stamp(self, table: str, key: str, *, by: str = "uuid") -> str:
        """Return when an edit made now of a row, there or yet to be added, counts as made.

        It is later than the edit before even if the clock was set back, so that in a merge it
        wins over what it replaced.
        """
        now = self.clock.now()
        was = self.connection.execute(
            f"SELECT edited_at FROM {table} WHERE {by} = ?", (key,)
        ).fetchone()
        if was is not None:
            now = max(now, datetime.fromisoformat(was[0]) + timedelta(microseconds=1))
        return stamp(now)

    def unknown(self, what: str, uuid: str) -> Unknown:
        """Say that the file has no such row."""
        return Unknown(f"{shown(self.path)} has no {what} {clean_text(uuid)}; nothing was changed.")

    def _end_unchanged(self) -> None:
        # Some errors of SQLite (a full disk) have ended the transaction already.
        if self.connection.in_transaction:
            self.connection.execute("ROLLBACK")

    def _keep_copy(self) -> None:
        day = self.clock.day()
        if day != self._copied_on:
            self._copied_on = day
            self.backup_problem = keep_daily_copy(self.connection, self.path, day)


class Rows:
    """A repository: what the file holds of one kind, read and written through the open file."""

    def __init__(self, file: RepertoireFile) -> None:
        self.file = file
        self.execute = file.connection.execute
        self.executemany = file.connection.executemany
        self.reading = file.reading
        self.writing = file.writing

    def remove_from(self, table: str, what: str, uuid: str) -> None:
        """Take a row out of sight; it stays in the file for merging.

        Raises:
            Unknown: There is no such row, or it was removed.
        """
        with self.writing():
            removed = self.execute(
                f"UPDATE {table} SET edited_at = ?1, removed_at = ?1"
                " WHERE uuid = ?2 AND removed_at IS NULL",
                (self.file.edit_stamp(table, uuid), uuid),
            )
            if not removed.rowcount:
                raise self.file.unknown(what, uuid)


def saving(table: str, columns: str) -> str:
    """Return the statement that adds a row, or replaces and brings back the one of its ``uuid``.

    Args:
        table: One whose rows are marked when they are removed.
        columns: What is given for a row, ``uuid`` and ``edited_at`` included, parted by commas.
    """
    names = columns.split(", ")
    given = ", ".join("?" for _ in names)
    kept = ", ".join(f"{name} = excluded.{name}" for name in names)
    return (
        f"INSERT INTO {table} ({columns}) VALUES ({given})"
        f" ON CONFLICT (uuid) DO UPDATE SET {kept}, removed_at = NULL"
    )


def stamp(moment: datetime) -> str:
    """Return an aware moment as UTC text of fixed width, which sorts as time does.

    Raises:
        ValueError: The moment has no zone.
    """
    if moment.tzinfo is None:
        raise ValueError("a stored moment needs a zone")
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def cleaned(text: str, *, multiline: bool = False, limit: int = TITLE_LIMIT) -> str:
    """Return ``clean_text(text)``, at once where there is plainly nothing to clean.

    Printable text (``str.isprintable``) holds no control, override or unassigned character.
    """
    if len(text) <= limit and text.isprintable():
        return text
    return clean_text(text, multiline=multiline, limit=limit)


def checked_json(text: str) -> str:
    """Return ``text`` if it is JSON.

    SQLite's own ``json_valid`` is not allowed in a CHECK where schemas are not trusted.

    Raises:
        ValueError: It is not JSON.
    """
    json.loads(text)
    return text
