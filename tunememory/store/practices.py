"""What was practised and played: rows are added, never changed; an undone one is only marked."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from tunememory.store.base import cleaned, stamp
from tunememory.store.beliefs import set_belief
from tunememory.store.dates import DateRows
from tunememory.tunes.journal import Practice
from tunememory.tunes.text import NOTE_LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterable

_PRACTICES = (
    "SELECT p.uuid, p.at, p.day, p.minutes, t.uuid, p.way, p.words, p.head, d.uuid"
    " FROM practices AS p LEFT JOIN tunes AS t ON t.tune_id = p.tune_id"
    " LEFT JOIN dates AS d ON d.date_id = p.date_id WHERE p.withdrawn_at IS NULL"
)
_ORDER = " ORDER BY p.at, p.practice_id"


class PracticeRows(DateRows):
    """Practice entries. Order is by moment, then as they were written."""

    def add_practice(self, entry: Practice, belief: bytes | None) -> None:
        """Keep one entry and what is now believed of its tune.

        Args:
            entry: The entry.
            belief: The tune's belief after it, or ``None`` to leave it to be worked out again.

        Raises:
            RepertoireError: Nothing was kept.
        """
        with self.writing():
            number = self._insert_practice(entry)
            if number is not None:
                set_belief(self.connection, number, belief)

    def add_practices(self, entries: Iterable[Practice]) -> None:
        """Keep many entries, all or none; the beliefs of their tunes are dropped.

        Raises:
            RepertoireError: Nothing was kept.
        """
        with self.writing():
            for number in {self._insert_practice(entry) for entry in entries}:
                if number is not None:
                    set_belief(self.connection, number, None)

    def withdraw_practice(self, uuid: str, at: datetime, belief: bytes | None) -> None:
        """Undo an entry: it stays in the file, marked, and no longer counts.

        Args:
            uuid: Which entry.
            at: When it was undone, aware.
            belief: The tune's belief without it, or ``None`` as for ``add_practice``.

        Raises:
            Unknown: There is no such entry that counts.
        """
        with self.writing():
            row = self.connection.execute(
                "SELECT practice_id, tune_id FROM practices"
                " WHERE uuid = ? AND withdrawn_at IS NULL",
                (uuid,),
            ).fetchone()
            if row is None:
                raise self.unknown("practice entry", uuid)
            self.connection.execute(
                "UPDATE practices SET withdrawn_at = ? WHERE practice_id = ?", (stamp(at), row[0])
            )
            if row[1] is not None:
                set_belief(self.connection, row[1], belief)

    def practices(
        self, tune: str | None = None, first_day: date | None = None, last_day: date | None = None
    ) -> list[Practice]:
        """Return the entries that count, oldest first.

        Args:
            tune: Only of this tune.
            first_day: Only from this practice day on.
            last_day: Only up to this practice day.

        Raises:
            Unknown: The file never had such a tune.
        """
        with self.reading():
            sql = _PRACTICES
            parameters: list[str | int] = []
            if tune is not None:
                sql += " AND p.tune_id = ?"
                parameters.append(self.tune_number(tune))
            if first_day is not None:
                sql += " AND p.day >= ?"
                parameters.append(first_day.isoformat())
            if last_day is not None:
                sql += " AND p.day <= ?"
                parameters.append(last_day.isoformat())
            return [
                Practice(
                    uuid,
                    datetime.fromisoformat(at),
                    date.fromisoformat(day),
                    minutes,
                    of_tune or "",
                    cleaned(way),
                    cleaned(words, multiline=True, limit=NOTE_LIMIT),
                    bool(head),
                    played_at or "",
                )
                for uuid, at, day, minutes, of_tune, way, words, head, played_at
                in self.connection.execute(sql + _ORDER, parameters)
            ]  # fmt: skip

    def last_practised(self) -> dict[str, datetime]:
        """Return when each tune that has an entry that counts was practised or played last."""
        with self.reading():
            return {
                uuid: datetime.fromisoformat(at)
                for uuid, at in self.connection.execute(
                    "SELECT tunes.uuid, max(at) FROM practices JOIN tunes USING (tune_id)"
                    " WHERE withdrawn_at IS NULL AND removed_at IS NULL GROUP BY tune_id"
                )
            }

    def played_there(self, date_uuid: str) -> dict[str, date]:
        """Return when each tune was last played at a date, by practice day."""
        with self.reading():
            return {
                uuid: date.fromisoformat(day)
                for uuid, day in self.connection.execute(
                    "SELECT t.uuid, max(p.day) FROM practices AS p JOIN tunes AS t USING (tune_id)"
                    " JOIN dates AS d USING (date_id)"
                    " WHERE d.uuid = ? AND p.withdrawn_at IS NULL GROUP BY t.tune_id",
                    (date_uuid,),
                )
            }

    def _insert_practice(self, entry: Practice) -> int | None:
        """Add an entry and return the number of its tune, ``None`` for none."""
        number = self.tune_number(entry.tune) if entry.tune else None
        played_at = self.date_number(entry.played_at) if entry.played_at else None
        self.connection.execute(
            "INSERT INTO practices (uuid, tune_id, date_id, way, words, minutes, head, at, day)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                entry.uuid,
                number,
                played_at,
                entry.way,
                entry.words,
                entry.minutes,
                int(entry.head_only),
                stamp(entry.at),
                entry.day.isoformat(),
            ),
        )
        return number
