"""Sets of tunes."""

from __future__ import annotations

from collections import defaultdict

from tunememory.store.base import RepertoireFile, cleaned
from tunememory.tunes.sets import TuneSet


class SetRows(RepertoireFile):
    """Sets by identity. Removed ones stay in the file, out of sight, for merging."""

    def sets(self) -> list[TuneSet]:
        """Return every set in the order they were made; tunes that were removed are left out."""
        with self.reading():
            execute = self.connection.execute
            tunes: defaultdict[int, list[str]] = defaultdict(list)
            for number, tune in execute(
                "SELECT set_id, uuid FROM set_tunes JOIN tunes USING (tune_id)"
                " WHERE removed_at IS NULL ORDER BY set_id, place"
            ):
                tunes[number].append(tune)
            return [
                TuneSet(uuid, cleaned(name), tuple(tunes.get(number, ())))
                for number, uuid, name in execute(
                    "SELECT set_id, uuid, name FROM sets WHERE removed_at IS NULL ORDER BY set_id"
                )
            ]

    def save_set(self, kept: TuneSet) -> None:
        """Add a set, or replace what is kept of it.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            execute = self.connection.execute
            was = execute("SELECT edited_at FROM sets WHERE uuid = ?", (kept.uuid,)).fetchone()
            (number,) = execute(
                "INSERT INTO sets (uuid, name, edited_at) VALUES (?, ?, ?)"
                " ON CONFLICT (uuid) DO UPDATE SET name = excluded.name,"
                " edited_at = excluded.edited_at, removed_at = NULL RETURNING set_id",
                (kept.uuid, kept.name, self.edit_stamp(was)),
            ).fetchone()
            execute("DELETE FROM set_tunes WHERE set_id = ?", (number,))
            self.connection.executemany(
                "INSERT INTO set_tunes (set_id, place, tune_id) VALUES (?, ?, ?)",
                [(number, place, self.tune_number(tune)) for place, tune in enumerate(kept.tunes)],
            )

    def remove_set(self, uuid: str) -> None:
        """Take a set out of sight; its tunes and what is known of its joins stay.

        Raises:
            Unknown: There is no such set, or it was removed.
        """
        with self.writing():
            find = "SELECT edited_at FROM sets WHERE uuid = ? AND removed_at IS NULL"
            was = self.connection.execute(find, (uuid,)).fetchone()
            if was is None:
                raise self.unknown("set", uuid)
            self.connection.execute(
                "UPDATE sets SET edited_at = ?1, removed_at = ?1 WHERE uuid = ?2",
                (self.edit_stamp(was), uuid),
            )
