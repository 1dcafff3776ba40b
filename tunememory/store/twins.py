"""Which starts begin alike: a cache, since comparing all parts with all parts takes a while.

A tune counts as compared while the edit it was compared at is its newest one, so that a change by
another window, a merge or an older program is noticed by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from json import dumps
from typing import TYPE_CHECKING

from tunememory.store.base import RepertoireFile

if TYPE_CHECKING:
    from collections.abc import Iterable

_STALE = (
    "SELECT uuid FROM tunes LEFT JOIN twins_made USING (tune_id)"
    " WHERE removed_at IS NULL AND twins_made.edited_at IS NOT tunes.edited_at"
)


@dataclass(frozen=True, slots=True)
class TwinRow:
    """Two starts that begin alike, seen from the first.

    Attributes:
        tune: Identity of a tune.
        part: Its part.
        other: Identity of the twin.
        other_part: The twin's part.
        distance: 0 for the same notes.
        parts_at: 1-based number of the note of ``part`` where they part, 0 if they do not.
    """

    tune: str
    part: str
    other: str
    other_part: str
    distance: float
    parts_at: int


class TwinRows(RepertoireFile):
    """Twins by tune."""

    def twins(self) -> list[TwinRow]:
        """Return the twins of all tunes that are still as they were compared, nearest first."""
        with self.reading():
            return [
                TwinRow(*row)
                for row in self.connection.execute(
                    "SELECT one.uuid, part, two.uuid, other_part, distance, parts_at FROM twins"
                    " JOIN tunes AS one USING (tune_id)"
                    " JOIN tunes AS two ON two.tune_id = other_id"
                    " JOIN twins_made AS made ON made.tune_id = one.tune_id"
                    " AND made.edited_at = one.edited_at"
                    " JOIN twins_made AS other_made ON other_made.tune_id = two.tune_id"
                    " AND other_made.edited_at = two.edited_at"
                    " WHERE one.removed_at IS NULL AND two.removed_at IS NULL"
                    " ORDER BY distance, two.uuid, part, other_part"
                )
            ]

    def not_compared(self, among: Iterable[str] | None = None) -> list[str]:
        """Return the tunes that have to be compared with the others, of ``among`` or of all."""
        some = "" if among is None else " AND uuid IN (SELECT value FROM json_each(?))"
        given = () if among is None else (dumps([*among]),)
        with self.reading():
            found = self.connection.execute(f"{_STALE}{some} ORDER BY uuid", given)
            return [uuid for (uuid,) in found]

    def twins_hold(self, uuid: str) -> None:
        """Take a tune as compared after a change that left its music as it was."""
        with self.writing():
            self.connection.execute(
                "UPDATE twins_made SET edited_at = tunes.edited_at FROM tunes"
                " WHERE tunes.tune_id = twins_made.tune_id AND tunes.uuid = ?",
                (uuid,),
            )

    def save_twins(self, compared: Iterable[str], rows: Iterable[TwinRow]) -> None:
        """Keep the twins of tunes compared just now, in place of what was kept of them.

        Args:
            compared: Tunes that were compared with all others.
            rows: Their twins, seen from both sides.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            execute = self.connection.execute
            for uuid in compared:
                number = self.tune_number(uuid)
                execute("DELETE FROM twins WHERE tune_id = ?1 OR other_id = ?1", (number,))
                execute(
                    "INSERT OR REPLACE INTO twins_made"
                    " SELECT tune_id, edited_at FROM tunes WHERE tune_id = ?",
                    (number,),
                )
            for row in rows:
                execute(
                    "INSERT OR REPLACE INTO twins VALUES (?, ?, ?, ?, ?, ?)",
                    (
                        self.tune_number(row.tune),
                        row.part,
                        self.tune_number(row.other),
                        row.other_part,
                        row.distance,
                        row.parts_at,
                    ),
                )
