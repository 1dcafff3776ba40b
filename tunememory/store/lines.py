"""Lines the player writes: to tomorrow, and of what was heard."""

from __future__ import annotations

from datetime import date

from tunememory.store.base import RepertoireFile, cleaned
from tunememory.tunes.journal import Heard
from tunememory.tunes.text import NOTE_LIMIT

_HEARD = (
    "SELECT h.uuid, h.day, h.name, h.from_whom, h.alike, h.note, t.uuid FROM heard_lines AS h"
    " LEFT JOIN tunes AS t ON t.tune_id = h.tune_id AND t.removed_at IS NULL"
    " WHERE h.removed_at IS NULL AND h.day BETWEEN ? AND ? ORDER BY h.day, h.heard_line_id"
)
_SAVE_HEARD = (
    "INSERT INTO heard_lines (uuid, day, name, from_whom, alike, note, tune_id, edited_at)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (uuid) DO UPDATE SET day = excluded.day,"
    " name = excluded.name, from_whom = excluded.from_whom, alike = excluded.alike,"
    " note = excluded.note, tune_id = excluded.tune_id, edited_at = excluded.edited_at,"
    " removed_at = NULL"
)


class LineRows(RepertoireFile):
    """Pick-up lines by day, and what was heard."""

    def save_pick_up(self, day: date, line: str) -> None:
        """Keep the pick-up line of a day in place of an earlier one; empty for none."""
        with self.writing():
            execute = self.connection.execute
            was = execute(
                "SELECT edited_at FROM pick_ups WHERE day = ?", (day.isoformat(),)
            ).fetchone()
            execute(
                "INSERT INTO pick_ups (day, line, edited_at) VALUES (?, ?, ?) ON CONFLICT (day)"
                " DO UPDATE SET line = excluded.line, edited_at = excluded.edited_at",
                (day.isoformat(), line, self.edit_stamp(was)),
            )

    def pick_ups(self, first_day: date = date.min, last_day: date = date.max) -> dict[date, str]:
        """Return the pick-up lines from one day to another, both included, oldest first."""
        with self.reading():
            return {
                date.fromisoformat(day): cleaned(line)
                for day, line in self.connection.execute(
                    "SELECT day, line FROM pick_ups WHERE line <> '' AND day BETWEEN ? AND ?"
                    " ORDER BY day",
                    (first_day.isoformat(), last_day.isoformat()),
                )
            }

    def last_pick_up(self, before: date) -> tuple[date, str] | None:
        """Return the newest pick-up line of a day before ``before``, with its day."""
        with self.reading():
            row = self.connection.execute(
                "SELECT day, line FROM pick_ups WHERE line <> '' AND day < ?"
                " ORDER BY day DESC LIMIT 1",
                (before.isoformat(),),
            ).fetchone()
            return None if row is None else (date.fromisoformat(row[0]), cleaned(row[1]))

    def save_heard(self, kept: Heard) -> None:
        """Add something heard, or replace what is kept of it.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            find = "SELECT edited_at FROM heard_lines WHERE uuid = ?"
            was = self.connection.execute(find, (kept.uuid,)).fetchone()
            self.connection.execute(
                _SAVE_HEARD,
                (
                    kept.uuid,
                    kept.day.isoformat(),
                    kept.name,
                    kept.from_whom,
                    kept.alike,
                    kept.note,
                    self.tune_number(kept.tune) if kept.tune else None,
                    self.edit_stamp(was),
                ),
            )

    def remove_heard(self, uuid: str) -> None:
        """Take out something heard.

        Raises:
            Unknown: There is no such line, or it was removed.
        """
        with self.writing():
            find = "SELECT edited_at FROM heard_lines WHERE uuid = ? AND removed_at IS NULL"
            was = self.connection.execute(find, (uuid,)).fetchone()
            if was is None:
                raise self.unknown("line of what was heard", uuid)
            self.connection.execute(
                "UPDATE heard_lines SET edited_at = ?1, removed_at = ?1 WHERE uuid = ?2",
                (self.edit_stamp(was), uuid),
            )

    def heard(self, first_day: date = date.min, last_day: date = date.max) -> list[Heard]:
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
                for uuid, day, name, from_whom, alike, note, tune in self.connection.execute(
                    _HEARD, (first_day.isoformat(), last_day.isoformat())
                )
            ]
