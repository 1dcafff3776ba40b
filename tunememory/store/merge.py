"""Joining two copies of a repertoire that went different ways.

Rows are known by their random identity, or by their day: what only the other file has is taken;
a tune, set, date or line that both have is kept as it was edited last; a check or practice undone
in either is undone. Nothing is taken out. Beliefs of the tunes concerned are dropped, to be
replayed from the joined history.

Columns are read from the tables themselves, so that a new one is merged with its row. Numbers by
which rows point at each other differ between the files; each is looked up by identity.
"""

from __future__ import annotations

import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.store.backup import copy_before, copy_file
from tunememory.store.errors import RepertoireError, damaged, explained, shown
from tunememory.store.opening import connect
from tunememory.store.schema import tables_in
from tunememory.store.verify import problems_of

if TYPE_CHECKING:
    import sqlite3

    from tunememory.store.connection import RepertoireFile


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What came of a merge, as numbers of rows.

    Attributes:
        tunes_added: Tunes only the other file had, removed ones left out.
        tunes_changed: Tunes the other file had edited later.
        checks_added: Checks only the other file had.
        checks_withdrawn: Checks that were undone in the other file alone.
        rounds_added: Rounds only the other file had.
        practices_added: Practice entries only the other file had.
        sets_taken: Sets that were new or edited later there.
        dates_taken: Dates that were new or edited later there.
    """

    tunes_added: int
    tunes_changed: int
    checks_added: int
    checks_withdrawn: int
    rounds_added: int
    practices_added: int = 0
    sets_taken: int = 0
    dates_taken: int = 0


def merge(ours: RepertoireFile, other: Path) -> MergeReport:
    """Take into ``ours`` all that the file ``other`` has and it lacks.

    ``other`` is not changed and may be of an earlier format. Our file is copied first, to
    ``backups/NAME-before-merge``.

    Raises:
        RepertoireError: The other file is no sound repertoire, or ours cannot be written; ours
            is as it was.
    """
    with tempfile.TemporaryDirectory() as folder:
        theirs = Path(folder) / "other.tunes"
        with explained(other):
            connect(other, create=False, readonly=True, older=True).close()
            if ours.path.samefile(other):
                raise RepertoireError(f"{shown(other)} is this file itself; give another one.")
            copy_file(other, theirs)
        with explained(other), closing(connect(theirs, create=False, readonly=False)) as source:
            if problems := problems_of(source, other):
                raise damaged(other, problems[0])
        with explained(ours.path):
            ours.connection.execute("ATTACH DATABASE ? AS other", (f"{theirs.as_uri()}?mode=ro",))
            try:
                with ours.writing():
                    copy_before(ours.path, "merge")
                    return _Merge(ours.connection).all()
            finally:
                ours.connection.execute("DETACH DATABASE other")


@dataclass(frozen=True, slots=True)
class _Taken:
    """Rows of one table that came in, and rows of ours that gave way, as numbers."""

    added: int
    changed: int


class _Merge:
    """Takes tables of the attached database ``other`` into ours, inside one transaction.

    ``theirs`` and ``mine`` are the two rows of one thing in every statement. The rows being taken
    from a table stand in ``temp.taken``.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._execute = connection.execute
        self._tables = tables_in(connection)
        self._execute("CREATE TEMP TABLE taken (number INTEGER PRIMARY KEY, new INTEGER)")

    def all(self) -> MergeReport:
        """Take every table whose rows the other file may have made."""
        (present,) = self._execute(
            "SELECT count(*) FROM other.tunes WHERE removed_at IS NULL"
            " AND uuid NOT IN (SELECT uuid FROM main.tunes)"
        ).fetchone()
        tunes = self._take_edited("tunes", "titles", "starts")
        self._drop_beliefs("tunes")
        sets = self._take_edited("sets", "set_tunes")
        dates = self._take_edited("dates", "date_tunes", "date_sets", "date_except_days")
        rounds = self._take_history("rounds", "ended_at")
        checks = self._take_history("checks", "withdrawn_at")
        self._take_missing("levels", "WHERE theirs.check_id IN (SELECT number FROM temp.taken)")
        self._drop_beliefs("checks")
        practices = self._take_history("practices", "withdrawn_at")
        self._drop_beliefs("practices")
        self._take_edited("days_off")
        self._take_edited("heard_lines")
        self._take_edited("pick_ups", key="day")
        self._take_edited("sittings", key="day")
        for table in ("put_off", "imports", "settings", "dates_answered"):
            self._take_missing(table)
        # None of theirs takes over.
        self._take("parameters", "uuid", "false", ["active"], active="0")
        self._execute("DROP TABLE temp.taken")
        return MergeReport(
            present,
            tunes.changed,
            checks.added,
            checks.changed,
            rounds.added,
            practices.added,
            sets.added + sets.changed,
            dates.added + dates.changed,
        )

    def _take_edited(self, table: str, *lines: str, key: str = "uuid") -> _Taken:
        """Take what is new or edited later there, with the lines that belong to it."""
        taken = self._take(
            table,
            key,
            "theirs.edited_at > mine.edited_at",
            [name for name in self._columns(table) if name != key],
        )
        for line in lines:
            (parent,) = (name for name, to in self._pointers(line).items() if to[0] == table)
            self._execute(
                f"DELETE FROM main.{line} WHERE {parent} IN (SELECT mine.rowid FROM temp.taken"
                f" JOIN other.{table} AS theirs ON theirs.rowid = number"
                f" JOIN main.{table} AS mine USING (uuid))"
            )
            self._execute(
                f"{self._copy(line)} WHERE theirs.{parent} IN (SELECT number FROM temp.taken)"
            )
        return taken

    def _take_history(self, table: str, mark: str) -> _Taken:
        """Take what is new there, and the mark that only theirs bears."""
        return self._take(
            table, "uuid", f"mine.{mark} IS NULL AND theirs.{mark} IS NOT NULL", [mark]
        )

    def _take(
        self, table: str, key: str, newer: str, changing: list[str], **instead: str
    ) -> _Taken:
        """Add the rows we lack, and change those of ours of which ``newer`` holds.

        Args:
            table: Which table.
            key: The column by which one thing is known in both files.
            newer: Condition on ``mine`` and ``theirs``.
            changing: The columns that are changed in ours.
            instead: What stands in a column, in place of theirs.
        """
        self._execute("DELETE FROM temp.taken")
        self._execute(
            "INSERT INTO temp.taken SELECT theirs.rowid, mine.rowid IS NULL"
            f" FROM other.{table} AS theirs LEFT JOIN main.{table} AS mine USING ({key})"
            f" WHERE mine.rowid IS NULL OR {newer}"
        )
        change = ", ".join(f"{name} = excluded.{name}" for name in changing)
        self._execute(
            f"{self._copy(table, **instead)} WHERE theirs.rowid IN (SELECT number FROM temp.taken)"
            f" ORDER BY theirs.rowid ON CONFLICT ({key}) DO UPDATE SET {change}"
        )
        counted = "SELECT count(*) FILTER (WHERE new), count(*) FILTER (WHERE NOT new)"
        return _Taken(*self._execute(f"{counted} FROM temp.taken").fetchone())

    def _take_missing(self, table: str, which: str = "") -> None:
        """Take the rows whose key we do not have."""
        self._execute(self._copy(table, "INSERT OR IGNORE") + which)

    def _drop_beliefs(self, table: str) -> None:
        """Drop what is believed of the tunes of the rows just taken."""
        self._execute(
            "DELETE FROM main.beliefs WHERE tune_id IN (SELECT mine.tune_id FROM temp.taken"
            f" JOIN other.{table} AS theirs ON theirs.rowid = number"
            f" JOIN main.{table} AS mine USING (uuid))"
        )

    def _copy(self, table: str, insert: str = "INSERT", **instead: str) -> str:
        """Return the statement that adds rows of theirs, up to the choice of rows."""
        values = {name: f"theirs.{name}" for name in self._columns(table)}
        for name, (to, number) in self._pointers(table).items():
            values[name] = (
                f"(SELECT ours.{number} FROM other.{to} AS its JOIN main.{to} AS ours USING (uuid)"
                f" WHERE its.{number} = theirs.{name})"
            )
        values |= instead
        return (
            f"{insert} INTO main.{table} ({', '.join(values)})"
            f" SELECT {', '.join(values.values())} FROM other.{table} AS theirs "
        )

    def _columns(self, table: str) -> list[str]:
        """Names of the columns, without the number a row has in its own file alone."""
        columns = self._tables.table(table).columns
        keys = [column for column in columns if column.is_pk]
        numbered = len(keys) == 1 and keys[0].type == "INTEGER"
        return [column.name for column in columns if not (numbered and column.is_pk)]

    def _pointers(self, table: str) -> dict[str, tuple[str, str]]:
        """Columns that point at rows, with the table and its column that they point at."""
        return {
            one.columns[0]: (one.other_table, one.other_columns[0])
            for one in self._tables.table(table).foreign_keys
        }
