"""Looking a file over: is it whole, and does it hold what it should."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from tunememory.store.errors import RepertoireError
from tunememory.store.schema import STEPS, migrate
from tunememory.text import clean_text

if TYPE_CHECKING:
    from pathlib import Path

    from tunememory.store.repertoire import Repertoire


_MOST = 20
"""Problems told of one kind; a file this damaged is not mended line by line."""

_COUNTED = (
    (
        "checks without a level",
        "SELECT count(*) FROM checks WHERE check_id NOT IN (SELECT check_id FROM levels)",
    ),
    (
        "checks that rate one strand twice",
        "SELECT count(*) FROM (SELECT 1 FROM levels GROUP BY check_id, strand HAVING count(*) > 1)",
    ),
    (
        "joins that are asked like a strand of one tune, or the other way about",
        "SELECT count(*) FROM levels JOIN checks USING (check_id)"
        " WHERE (prompt = 'join') <> (strand GLOB 'join *')",
    ),
    (
        "beliefs of a tune that is not there",
        "SELECT count(*) FROM beliefs WHERE tune_id NOT IN (SELECT tune_id FROM tunes)",
    ),
)


def verify(repertoire: Repertoire) -> list[str]:
    """Return what is wrong with the file, a line each; empty when it is sound.

    Beside ``problems_of``, all that the file holds is read.
    """
    try:
        with repertoire.reading():
            problems = problems_of(repertoire.connection, repertoire.path)
            if problems:
                return problems
            # Tune by tune, as a long history would fill the memory.
            for (uuid,) in repertoire.connection.execute("SELECT uuid FROM tunes").fetchall():
                repertoire.checks.all(uuid)
            for rows in (
                repertoire.tunes,
                repertoire.sets,
                repertoire.dates,
                repertoire.days_off,
                repertoire.practices,
                repertoire.pick_ups,
                repertoire.heard,
                repertoire.sittings,
            ):
                rows.all()
            repertoire.dates.answered()
    except RepertoireError as error:
        return [str(error)]
    return []


def problems_of(connection: sqlite3.Connection, path: Path) -> list[str]:
    """Return what is wrong with an open file, a line each; empty when it is sound.

    Checked are the pages and indexes (``integrity_check``), rows that point at missing rows, the
    tables against those this version makes, and rows that make no sense.

    Raises:
        sqlite3.Error: The file is too damaged to be looked over.
    """
    broken = [
        f"damaged: {clean_text(row[0])}"
        for row in connection.execute("PRAGMA integrity_check").fetchmany(_MOST)
        if row[0] != "ok"
    ]
    if broken:
        return broken
    problems = [
        f"row {row} of {clean_text(table)} points at a missing row of {clean_text(parent)}"
        for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check").fetchmany(_MOST)
    ]
    differing = _differing_tables(connection, path)
    if differing:
        return problems + differing
    for what, sql in _COUNTED:
        (number,) = connection.execute(sql).fetchone()
        if number:
            problems.append(f"{number} {what}")
    return problems


def tables_of(connection: sqlite3.Connection) -> dict[str, str]:
    """Return the statements that made the tables and indexes, by name."""
    return dict(
        connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name"
        )
    )


def _differing_tables(connection: sqlite3.Connection, path: Path) -> list[str]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        migrate(fresh, path, STEPS)
        expected = tables_of(fresh)
    found = tables_of(connection)
    return [
        *(f"table or index {name} is missing" for name in sorted(expected.keys() - found.keys())),
        *(
            f"table or index {clean_text(name)} does not belong here"
            for name in sorted(found.keys() - expected.keys())
        ),
        *(
            f"table or index {name} is not as it should be"
            for name in sorted(expected.keys() & found.keys())
            if expected[name] != found[name]
        ),
    ]
