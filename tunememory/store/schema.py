"""The tables of a repertoire file, as the migrations that make them, and bringing a file to them.

Every row that two copies of a file could both make carries a ``uuid``; inside the file, rows point
at each other by small integers. Instants are UTC text of fixed width (they sort as text), practice
days are ISO dates. A released step is never edited: later changes are further steps.

sqlite-utils is loaded only when there are tables to make or to look into.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.store.backup import copy_before
from tunememory.store.errors import Newer, damaged, shown

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from sqlite_utils import Database, Migrations


APPLICATION_ID = 0x54554E45
"""Marks a database as ours ("TUNE" in ASCII), in the header field SQLite keeps for this."""


@dataclass(frozen=True, slots=True)
class Step:
    """One migration: its name, for the record kept in the file, and its SQL."""

    name: str
    sql: str


_FIRST_TABLES = """
CREATE TABLE tunes (
    tune_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    kind TEXT NOT NULL,
    root TEXT CHECK (root GLOB '[A-G]' OR root GLOB '[A-G][#b]' OR root GLOB '[A-G][#b][#b]'),
    mode TEXT CHECK (mode IN ('major', 'minor', 'mixolydian', 'dorian', 'phrygian', 'lydian',
                              'locrian')),
    key_changes TEXT NOT NULL,
    metre TEXT NOT NULL,
    tuning TEXT NOT NULL,
    status TEXT NOT NULL CHECK (status IN ('wanted', 'learning', 'kept', 'resting')),
    declared TEXT NOT NULL CHECK (declared IN ('new', 'learning', 'known', 'old friend')),
    source TEXT NOT NULL,
    note TEXT NOT NULL,
    favourite INTEGER NOT NULL CHECK (favourite IN (0, 1)),
    added TEXT NOT NULL CHECK (added GLOB '????-??-??'),
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00'),
    removed_at TEXT CHECK (removed_at GLOB '????-??-??T??:??:??.??????+00:00'),
    CHECK ((root IS NULL) = (mode IS NULL))
) STRICT;

CREATE TABLE titles (
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    place INTEGER NOT NULL CHECK (place >= 0),
    title TEXT NOT NULL CHECK (title <> ''),
    PRIMARY KEY (tune_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE starts (
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    place INTEGER NOT NULL CHECK (place >= 0),
    part TEXT NOT NULL CHECK (length(part) BETWEEN 1 AND 8),
    notes TEXT NOT NULL,
    pickup TEXT NOT NULL CHECK (pickup <> ''),
    written TEXT NOT NULL,
    root TEXT CHECK (root GLOB '[A-G]' OR root GLOB '[A-G][#b]' OR root GLOB '[A-G][#b][#b]'),
    mode TEXT CHECK (mode IN ('major', 'minor', 'mixolydian', 'dorian', 'phrygian', 'lydian',
                              'locrian')),
    key_changes TEXT NOT NULL,
    doubt TEXT NOT NULL,
    PRIMARY KEY (tune_id, place),
    UNIQUE (tune_id, part),
    CHECK ((root IS NULL) = (mode IS NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE imports (
    book TEXT NOT NULL,
    reference TEXT NOT NULL,
    folded TEXT NOT NULL,
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    raw TEXT NOT NULL,
    hash TEXT NOT NULL,
    PRIMARY KEY (book, reference, folded)
) STRICT, WITHOUT ROWID;
CREATE INDEX imports_by_hash ON imports (hash);

CREATE TABLE rounds (
    round_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    kind TEXT NOT NULL CHECK (kind IN ('first', 'last', 'loose', 'away')),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    begun_at TEXT NOT NULL CHECK (begun_at GLOB '????-??-??T??:??:??.??????+00:00'),
    ended_at TEXT CHECK (ended_at GLOB '????-??-??T??:??:??.??????+00:00'),
    minutes REAL NOT NULL CHECK (minutes >= 0),
    tuning TEXT NOT NULL
) STRICT;
CREATE INDEX rounds_by_day ON rounds (day);

CREATE TABLE put_off (
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    PRIMARY KEY (day, tune_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE checks (
    check_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    round_id INTEGER REFERENCES rounds (round_id),
    at TEXT NOT NULL CHECK (at GLOB '????-??-??T??:??:??.??????+00:00'),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    round_kind TEXT NOT NULL CHECK (round_kind IN ('first', 'last', 'loose', 'away')),
    prompt TEXT NOT NULL CHECK (length(prompt) BETWEEN 1 AND 16),
    seconds REAL CHECK (seconds >= 0),
    hints INTEGER NOT NULL CHECK (hints BETWEEN 0 AND 4),
    wrong_key INTEGER NOT NULL CHECK (wrong_key IN (0, 1)),
    strayed_id INTEGER REFERENCES tunes (tune_id),
    withdrawn_at TEXT CHECK (withdrawn_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;
CREATE INDEX checks_by_time ON checks (at) WHERE withdrawn_at IS NULL;
CREATE INDEX checks_by_tune ON checks (tune_id, at) WHERE withdrawn_at IS NULL;

CREATE TABLE levels (
    check_id INTEGER NOT NULL REFERENCES checks (check_id),
    place INTEGER NOT NULL CHECK (place >= 0),
    strand TEXT NOT NULL CHECK (length(strand) BETWEEN 1 AND 80),
    level INTEGER NOT NULL CHECK (level BETWEEN 1 AND 4),
    PRIMARY KEY (check_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE beliefs (
    tune_id INTEGER PRIMARY KEY REFERENCES tunes (tune_id),
    belief BLOB NOT NULL
) STRICT;

CREATE TABLE beliefs_made (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    parameters_version INTEGER NOT NULL
) STRICT;

CREATE TABLE parameters (
    version INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    made_at TEXT NOT NULL CHECK (made_at GLOB '????-??-??T??:??:??.??????+00:00'),
    numbers TEXT NOT NULL CHECK (numbers <> ''),
    evidence TEXT NOT NULL CHECK (evidence <> ''),
    active INTEGER NOT NULL CHECK (active IN (0, 1))
) STRICT;
CREATE UNIQUE INDEX parameters_in_use ON parameters (active) WHERE active = 1;

CREATE TABLE settings (
    name TEXT PRIMARY KEY CHECK (name <> ''),
    value TEXT NOT NULL CHECK (value <> '')
) STRICT, WITHOUT ROWID;

CREATE TABLE twins (
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    part TEXT NOT NULL CHECK (length(part) BETWEEN 1 AND 8),
    other_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    other_part TEXT NOT NULL CHECK (length(other_part) BETWEEN 1 AND 8),
    distance REAL NOT NULL CHECK (distance >= 0),
    parts_at INTEGER NOT NULL CHECK (parts_at >= 0),
    PRIMARY KEY (tune_id, part, other_id, other_part)
) STRICT, WITHOUT ROWID;

CREATE TABLE twins_made (
    tune_id INTEGER PRIMARY KEY REFERENCES tunes (tune_id),
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;
"""

_PRACTICE_DAY = """
CREATE INDEX checks_of_joins ON checks (at) WHERE prompt = 'join' AND withdrawn_at IS NULL;

CREATE TABLE sets (
    set_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    name TEXT NOT NULL,
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00'),
    removed_at TEXT CHECK (removed_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;

CREATE TABLE set_tunes (
    set_id INTEGER NOT NULL REFERENCES sets (set_id),
    place INTEGER NOT NULL CHECK (place >= 0),
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    PRIMARY KEY (set_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE dates (
    date_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    title TEXT NOT NULL CHECK (title <> ''),
    kind TEXT NOT NULL,
    location TEXT NOT NULL,
    first_day TEXT NOT NULL CHECK (first_day GLOB '????-??-??'),
    rule TEXT NOT NULL,
    weeks_before INTEGER NOT NULL CHECK (weeks_before BETWEEN 0 AND 52),
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00'),
    removed_at TEXT CHECK (removed_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;

CREATE TABLE date_except_days (
    date_id INTEGER NOT NULL REFERENCES dates (date_id),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    PRIMARY KEY (date_id, day)
) STRICT, WITHOUT ROWID;

CREATE TABLE date_tunes (
    date_id INTEGER NOT NULL REFERENCES dates (date_id),
    place INTEGER NOT NULL CHECK (place >= 0),
    tune_id INTEGER NOT NULL REFERENCES tunes (tune_id),
    PRIMARY KEY (date_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE date_sets (
    date_id INTEGER NOT NULL REFERENCES dates (date_id),
    place INTEGER NOT NULL CHECK (place >= 0),
    set_id INTEGER NOT NULL REFERENCES sets (set_id),
    PRIMARY KEY (date_id, place)
) STRICT, WITHOUT ROWID;

CREATE TABLE dates_answered (
    date_id INTEGER NOT NULL REFERENCES dates (date_id),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    PRIMARY KEY (date_id, day)
) STRICT, WITHOUT ROWID;

CREATE TABLE days_off (
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    first_day TEXT NOT NULL CHECK (first_day GLOB '????-??-??'),
    last_day TEXT NOT NULL CHECK (last_day GLOB '????-??-??' AND last_day >= first_day),
    rule TEXT NOT NULL,
    note TEXT NOT NULL,
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00'),
    removed_at TEXT CHECK (removed_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;

CREATE TABLE practices (
    practice_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    tune_id INTEGER REFERENCES tunes (tune_id),
    date_id INTEGER REFERENCES dates (date_id),
    way TEXT NOT NULL CHECK (length(way) <= 64),
    words TEXT NOT NULL,
    minutes REAL NOT NULL CHECK (minutes >= 0),
    head INTEGER NOT NULL CHECK (head IN (0, 1)),
    at TEXT NOT NULL CHECK (at GLOB '????-??-??T??:??:??.??????+00:00'),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    withdrawn_at TEXT CHECK (withdrawn_at GLOB '????-??-??T??:??:??.??????+00:00'),
    CHECK (date_id IS NULL OR tune_id IS NOT NULL)
) STRICT;
CREATE INDEX practices_by_day ON practices (day, at) WHERE withdrawn_at IS NULL;
CREATE INDEX practices_by_tune ON practices (tune_id, at) WHERE withdrawn_at IS NULL;
CREATE INDEX practices_by_date ON practices (date_id, day) WHERE date_id IS NOT NULL;

CREATE TABLE pick_ups (
    day TEXT PRIMARY KEY CHECK (day GLOB '????-??-??'),
    line TEXT NOT NULL,
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;

CREATE TABLE heard_lines (
    heard_line_id INTEGER PRIMARY KEY,
    uuid TEXT NOT NULL UNIQUE CHECK (length(uuid) BETWEEN 1 AND 64),
    day TEXT NOT NULL CHECK (day GLOB '????-??-??'),
    name TEXT NOT NULL,
    from_whom TEXT NOT NULL,
    alike TEXT NOT NULL,
    note TEXT NOT NULL,
    tune_id INTEGER REFERENCES tunes (tune_id),
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00'),
    removed_at TEXT CHECK (removed_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;
CREATE INDEX heard_by_day ON heard_lines (day) WHERE removed_at IS NULL;

CREATE TABLE sittings (
    day TEXT PRIMARY KEY CHECK (day GLOB '????-??-??'),
    step TEXT NOT NULL CHECK (step IN ('first', 'practice', 'last', 'over')),
    head INTEGER NOT NULL CHECK (head IN (0, 1)),
    stopped INTEGER NOT NULL CHECK (stopped IN (0, 1)),
    closed_at TEXT CHECK (closed_at GLOB '????-??-??T??:??:??.??????+00:00'),
    edited_at TEXT NOT NULL CHECK (edited_at GLOB '????-??-??T??:??:??.??????+00:00')
) STRICT;
"""

_PREPARED_DAYS = """
CREATE TABLE prepared_days (
    day TEXT PRIMARY KEY CHECK (day GLOB '????-??-??'),
    made_as TEXT NOT NULL CHECK (made_as <> ''),
    view TEXT NOT NULL CHECK (view <> '')
) STRICT;
"""

STEPS = (
    Step("0001_first_tables", _FIRST_TABLES),
    Step("0002_practice_day", _PRACTICE_DAY),
    Step("0003_prepared_days", _PREPARED_DAYS),
    # Today is worked out quickly enough when it is shown.
    Step("0004_no_prepared_days", "DROP TABLE prepared_days"),
)
"""Every migration in order; a file's ``user_version`` is how many of them it has had."""

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
