"""Beliefs, which are a cache of the history, and the parameter sets they are worked out with."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from tunememory.store.connection import Rows, checked_json, stamp
from tunememory.store.records import ParameterSet

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping


class BeliefRows(Rows):
    """What is believed of each tune. A tune without a belief is replayed from its history."""

    def all(self) -> dict[str, bytes]:
        """Return the kept belief of each tune that has one."""
        with self.reading():
            return dict(
                self.execute(
                    "SELECT uuid, belief FROM beliefs JOIN tunes USING (tune_id)"
                    " WHERE removed_at IS NULL"
                )
            )

    def version(self) -> int | None:
        """Return the parameters version last given to ``save``, ``None`` if never."""
        with self.reading():
            row = self.execute("SELECT parameters_version FROM beliefs_made").fetchone()
        return None if row is None else int(row[0])

    def save(self, beliefs: Mapping[str, bytes], *, parameters_version: int) -> None:
        """Keep beliefs; those worked out with other parameters are dropped, they do not mix.

        Args:
            beliefs: By tune.
            parameters_version: Number of the parameter set they were worked out with.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            if self.version() != parameters_version:
                self.execute("DELETE FROM beliefs")
                self.execute(
                    "INSERT OR REPLACE INTO beliefs_made VALUES (1, ?)", (parameters_version,)
                )
            for uuid, belief in beliefs.items():
                set_belief(self.file.connection, self.file.number_of("tune", uuid), belief)


class ParameterRows(Rows):
    """Parameter sets by version."""

    def all(self) -> list[ParameterSet]:
        """Return every parameter set ever kept, oldest first."""
        with self.reading():
            return [
                ParameterSet(
                    uuid, datetime.fromisoformat(made_at), numbers, evidence, bool(active), version
                )
                for version, uuid, made_at, numbers, evidence, active in self.execute(
                    "SELECT version, uuid, made_at, numbers, evidence, active FROM parameters"
                    " ORDER BY version"
                )
            ]

    def add(self, made: ParameterSet) -> int:
        """Keep a parameter set and return its version; an active one takes over.

        Raises:
            ValueError: The texts are not JSON.
            RepertoireError: The set is in the file already.
        """
        with self.writing():
            cursor = self.execute(
                "INSERT INTO parameters (uuid, made_at, numbers, evidence, active)"
                " VALUES (?, ?, ?, ?, 0)",
                (
                    made.uuid,
                    stamp(made.made_at),
                    checked_json(made.numbers),
                    checked_json(made.evidence),
                ),
            )
            version = int(cursor.lastrowid or 0)
            if made.active:
                self.use(version)
        return version

    def use(self, version: int | None) -> None:
        """Make one kept set the active one, or none (the starting parameters).

        Raises:
            Unknown: There is no such version.
        """
        with self.writing():
            self.execute("UPDATE parameters SET active = 0 WHERE active = 1")
            if version is not None:
                cursor = self.execute(
                    "UPDATE parameters SET active = 1 WHERE version = ?", (version,)
                )
                if not cursor.rowcount:
                    raise self.file.unknown("parameter set", str(version))


def set_belief(connection: sqlite3.Connection, tune_number: int, belief: bytes | None) -> None:
    """Keep the belief of a tune, or drop it; inside a transaction."""
    if belief is None:
        connection.execute("DELETE FROM beliefs WHERE tune_id = ?", (tune_number,))
    else:
        connection.execute(
            "INSERT INTO beliefs (tune_id, belief) VALUES (?, ?)"
            " ON CONFLICT (tune_id) DO UPDATE SET belief = excluded.belief",
            (tune_number, belief),
        )
