"""What was practised and played: rows are added, never changed; an undone one is only marked."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from tunememory.recall.check import Practice
from tunememory.store.beliefs import set_belief
from tunememory.store.connection import Rows, cleaned, saving, stamp
from tunememory.store.records import At, Heard, Sitting
from tunememory.text import NOTE_LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterable


_PRACTICES = (
    "SELECT p.uuid, p.at, p.day, p.minutes, t.uuid, p.way, p.words, p.head, d.uuid"
    " FROM practices AS p LEFT JOIN tunes AS t ON t.tune_id = p.tune_id"
    " LEFT JOIN dates AS d ON d.date_id = p.date_id WHERE p.withdrawn_at IS NULL"
)
_ORDER = " ORDER BY p.at, p.practice_id"


class PracticeRows(Rows):
    """Practice entries. Order is by moment, then as they were written."""

    def record(self, entry: Practice, belief: bytes | None) -> None:
        """Keep one entry and what is now believed of its tune.

        Args:
            entry: The entry.
            belief: The tune's belief after it, or ``None`` to leave it to be worked out again.

        Raises:
            RepertoireError: Nothing was kept.
        """
        with self.writing():
            number = self._insert(entry)
            if number is not None:
                set_belief(self.file.connection, number, belief)

    def add(self, entries: Iterable[Practice]) -> None:
        """Keep many entries, all or none; the beliefs of their tunes are dropped.

        Raises:
            RepertoireError: Nothing was kept.
        """
        with self.writing():
            for number in {self._insert(entry) for entry in entries}:
                if number is not None:
                    set_belief(self.file.connection, number, None)

    def withdraw(self, uuid: str, at: datetime, belief: bytes | None) -> None:
        """Undo an entry: it stays in the file, marked, and no longer counts.

        Args:
            uuid: Which entry.
            at: When it was undone, aware.
            belief: The tune's belief without it, or ``None`` as for ``record``.

        Raises:
            Unknown: There is no such entry that counts.
        """
        with self.writing():
            row = self.execute(
                "UPDATE practices SET withdrawn_at = ? WHERE uuid = ? AND withdrawn_at IS NULL"
                " RETURNING tune_id",
                (stamp(at), uuid),
            ).fetchone()
            if row is None:
                raise self.file.unknown("practice entry", uuid)
            if row[0] is not None:
                set_belief(self.file.connection, row[0], belief)

    def all(
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
                parameters.append(self.file.number_of("tune", tune))
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
                in self.execute(sql + _ORDER, parameters)
            ]  # fmt: skip

    def last_by_tune(self) -> dict[str, datetime]:
        """Return when each tune that has an entry that counts was practised or played last."""
        with self.reading():
            return {
                uuid: datetime.fromisoformat(at)
                for uuid, at in self.execute(
                    "SELECT tunes.uuid, max(at) FROM practices JOIN tunes USING (tune_id)"
                    " WHERE withdrawn_at IS NULL AND removed_at IS NULL GROUP BY tune_id"
                )
            }

    def last_played_at(self, date_uuid: str) -> dict[str, date]:
        """Return when each tune was last played at a date, by practice day."""
        with self.reading():
            return {
                uuid: date.fromisoformat(day)
                for uuid, day in self.execute(
                    "SELECT t.uuid, max(p.day) FROM practices AS p JOIN tunes AS t USING (tune_id)"
                    " JOIN dates AS d USING (date_id)"
                    " WHERE d.uuid = ? AND p.withdrawn_at IS NULL GROUP BY t.tune_id",
                    (date_uuid,),
                )
            }

    def _insert(self, entry: Practice) -> int | None:
        """Add an entry and return the number of its tune, ``None`` for none."""
        number = self.file.number_of("tune", entry.tune) if entry.tune else None
        played_at = self.file.number_of("date", entry.played_at) if entry.played_at else None
        self.execute(
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


class PickUpRows(Rows):
    """Pick-up lines by day."""

    def save(self, day: date, line: str) -> None:
        """Keep the pick-up line of a day in place of an earlier one; empty for none."""
        with self.writing():
            edited_at = self.file.edit_stamp("pick_ups", day.isoformat(), by="day")
            self.execute(
                "INSERT OR REPLACE INTO pick_ups (day, line, edited_at) VALUES (?, ?, ?)",
                (day.isoformat(), line, edited_at),
            )

    def all(self, first_day: date = date.min, last_day: date = date.max) -> dict[date, str]:
        """Return the pick-up lines from one day to another, both included, oldest first."""
        with self.reading():
            return {
                date.fromisoformat(day): cleaned(line)
                for day, line in self.execute(
                    "SELECT day, line FROM pick_ups WHERE line <> '' AND day BETWEEN ? AND ?"
                    " ORDER BY day",
                    (first_day.isoformat(), last_day.isoformat()),
                )
            }

    def last(self, before: date) -> tuple[date, str] | None:
        """Return the newest pick-up line of a day before ``before``, with its day."""
        with self.reading():
            row = self.execute(
                "SELECT day, line FROM pick_ups WHERE line <> '' AND day < ?"
                " ORDER BY day DESC LIMIT 1",
                (before.isoformat(),),
            ).fetchone()
            return None if row is None else (date.fromisoformat(row[0]), cleaned(row[1]))


_HEARD = (
    "SELECT h.uuid, h.day, h.name, h.from_whom, h.alike, h.note, t.uuid FROM heard_lines AS h"
    " LEFT JOIN tunes AS t ON t.tune_id = h.tune_id AND t.removed_at IS NULL"
    " WHERE h.removed_at IS NULL AND h.day BETWEEN ? AND ? ORDER BY h.day, h.heard_line_id"
)
_SAVE_HEARD = saving("heard_lines", "uuid, day, name, from_whom, alike, note, tune_id, edited_at")


class HeardRows(Rows):
    """What was heard in company."""

    def save(self, kept: Heard) -> None:
        """Add something heard, or replace what is kept of it.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            self.execute(
                _SAVE_HEARD,
                (
                    kept.uuid,
                    kept.day.isoformat(),
                    kept.name,
                    kept.from_whom,
                    kept.alike,
                    kept.note,
                    self.file.number_of("tune", kept.tune) if kept.tune else None,
                    self.file.edit_stamp("heard_lines", kept.uuid),
                ),
            )

    def remove(self, uuid: str) -> None:
        """Take out something heard.

        Raises:
            Unknown: There is no such line, or it was removed.
        """
        self.remove_from("heard_lines", "line of what was heard", uuid)

    def all(self, first_day: date = date.min, last_day: date = date.max) -> list[Heard]:
        """Return what was heard from one day to another, both included, oldest first."""
        with self.reading():
            return [
                Heard(
                    uuid,
                    date.fromisoformat(day),
                    cleaned(name),
                    cleaned(from_whom),
                    cleaned(alike),
                    cleaned(note, multiline=True, limit=NOTE_LIMIT),
                    tune or "",
                )
                for uuid, day, name, from_whom, alike, note, tune in self.execute(
                    _HEARD, (first_day.isoformat(), last_day.isoformat())
                )
            ]


_DAYS = (
    "SELECT day FROM checks WHERE withdrawn_at IS NULL AND at >= :since"
    " UNION SELECT day FROM practices WHERE withdrawn_at IS NULL AND at >= :since"
    " UNION SELECT * FROM (SELECT day FROM checks WHERE withdrawn_at IS NULL AND at < :since"
    " ORDER BY at DESC LIMIT 1)"
    " UNION SELECT * FROM (SELECT day FROM practices WHERE withdrawn_at IS NULL AND at < :since"
    " ORDER BY at DESC LIMIT 1) ORDER BY day"
)


_SITTINGS = "SELECT day, step, head, stopped, closed_at FROM sittings"


class SittingRows(Rows):
    """Sittings by practice day."""

    def on(self, day: date) -> Sitting | None:
        """Return the sitting of a day, ``None`` where none was begun."""
        with self.reading():
            row = self.execute(_SITTINGS + " WHERE day = ?", (day.isoformat(),)).fetchone()
            return None if row is None else _sitting(*row)

    def all(self) -> list[Sitting]:
        """Return every sitting, oldest first."""
        with self.reading():
            return [_sitting(*row) for row in self.execute(_SITTINGS + " ORDER BY day")]

    def save(self, kept: Sitting) -> None:
        """Keep where a day's sitting stands, in place of what was kept."""
        with self.writing():
            day = kept.day.isoformat()
            self.execute(
                "INSERT OR REPLACE INTO sittings (day, step, head, stopped, closed_at, edited_at)"
                " VALUES (?, ?, ?, ?, ?, ?)",
                (
                    day,
                    kept.step.value,
                    int(kept.head_only),
                    int(kept.stopped),
                    stamp(kept.closed_at) if kept.closed_at else None,
                    self.file.edit_stamp("sittings", day, by="day"),
                ),
            )

    def practice_days(self, since: datetime | None = None) -> list[date]:
        """Return the practice days with checks or practice that count, oldest first.

        Args:
            since: Only from this moment on, aware, and the last days before it of either kind.
        """
        with self.reading():
            return [
                date.fromisoformat(day)
                for (day,) in self.execute(_DAYS, {"since": stamp(since) if since else ""})
            ]


def _sitting(day: str, step: str, head: int, stopped: int, closed: str | None) -> Sitting:
    return Sitting(
        date.fromisoformat(day),
        At(step),
        bool(head),
        bool(stopped),
        datetime.fromisoformat(closed) if closed else None,
    )
