"""Dates to be ready for, and days off."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING, Any

from tunememory.store.connection import RepertoireFile, cleaned
from tunememory.store.records import Date, DayOff, TuneSet

if TYPE_CHECKING:
    from collections.abc import Iterable


_DATES = (
    "SELECT date_id, uuid, title, first_day, kind, location, rule, weeks_before FROM dates"
    " WHERE removed_at IS NULL ORDER BY date_id"
)
_SAVE_DATE = (
    "INSERT INTO dates (uuid, title, first_day, kind, location, rule, weeks_before, edited_at)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (uuid) DO UPDATE SET title = excluded.title,"
    " first_day = excluded.first_day, kind = excluded.kind, location = excluded.location,"
    " rule = excluded.rule, weeks_before = excluded.weeks_before,"
    " edited_at = excluded.edited_at, removed_at = NULL RETURNING date_id"
)
_SAVE_DAY_OFF = (
    "INSERT INTO days_off (uuid, first_day, last_day, rule, note, edited_at)"
    " VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (uuid) DO UPDATE SET first_day = excluded.first_day,"
    " last_day = excluded.last_day, rule = excluded.rule, note = excluded.note,"
    " edited_at = excluded.edited_at, removed_at = NULL"
)


class DateRows(RepertoireFile):
    """Dates and days off by identity. Removed ones stay in the file for merging."""

    def dates(self) -> list[Date]:
        """Return every date in the order they were made; removed tunes and sets are left out."""
        with self.reading():
            execute = self.connection.execute
            tunes = _by_date(
                execute(
                    "SELECT date_id, uuid FROM date_tunes JOIN tunes USING (tune_id)"
                    " WHERE removed_at IS NULL ORDER BY date_id, place"
                )
            )
            sets = _by_date(
                execute(
                    "SELECT date_id, uuid FROM date_sets JOIN sets USING (set_id)"
                    " WHERE removed_at IS NULL ORDER BY date_id, place"
                )
            )
            out = _by_date(execute("SELECT date_id, day FROM date_except_days ORDER BY 1, 2"))
            return [
                Date(
                    uuid=uuid,
                    title=cleaned(title),
                    first_day=date.fromisoformat(first_day),
                    kind=cleaned(kind),
                    place=cleaned(location),
                    rule=cleaned(rule),
                    except_days=tuple(map(date.fromisoformat, out.get(number, ()))),
                    tunes=tuple(tunes.get(number, ())),
                    sets=tuple(sets.get(number, ())),
                    weeks_before=weeks,
                )
                for number, uuid, title, first_day, kind, location, rule, weeks in execute(_DATES)
            ]

    def save_date(self, kept: Date) -> None:
        """Add a date, or replace what is kept of it.

        Raises:
            Unknown: The file has no such tune or set.
        """
        with self.writing():
            execute, executemany = self.connection.execute, self.connection.executemany
            was = execute("SELECT edited_at FROM dates WHERE uuid = ?", (kept.uuid,)).fetchone()
            (number,) = execute(
                _SAVE_DATE,
                (
                    kept.uuid,
                    kept.title,
                    kept.first_day.isoformat(),
                    kept.kind,
                    kept.place,
                    kept.rule,
                    kept.weeks_before,
                    self.edit_stamp(was),
                ),
            ).fetchone()
            for clear in (
                "DELETE FROM date_tunes WHERE date_id = ?",
                "DELETE FROM date_sets WHERE date_id = ?",
                "DELETE FROM date_except_days WHERE date_id = ?",
            ):
                execute(clear, (number,))
            executemany(
                "INSERT INTO date_tunes (date_id, place, tune_id) VALUES (?, ?, ?)",
                [(number, place, self.tune_number(tune)) for place, tune in enumerate(kept.tunes)],
            )
            executemany(
                "INSERT INTO date_sets (date_id, place, set_id) VALUES (?, ?, ?)",
                [(number, place, self._set_number(one)) for place, one in enumerate(kept.sets)],
            )
            executemany(
                "INSERT INTO date_except_days (date_id, day) VALUES (?, ?)",
                [(number, day.isoformat()) for day in sorted(set(kept.except_days))],
            )

    def remove_date(self, uuid: str) -> None:
        """Take a date out of sight; what was played there stays.

        Raises:
            Unknown: There is no such date, or it was removed.
        """
        with self.writing():
            find = "SELECT edited_at FROM dates WHERE uuid = ? AND removed_at IS NULL"
            was = self.connection.execute(find, (uuid,)).fetchone()
            if was is None:
                raise self.unknown("date", uuid)
            self.connection.execute(
                "UPDATE dates SET edited_at = ?1, removed_at = ?1 WHERE uuid = ?2",
                (self.edit_stamp(was), uuid),
            )

    def answer_date(self, uuid: str, day: date) -> None:
        """Note that the player has said what was played at a date; twice is no fault.

        Raises:
            Unknown: The file has no such date.
        """
        with self.writing():
            self.connection.execute(
                "INSERT OR IGNORE INTO dates_answered (date_id, day) VALUES (?, ?)",
                (self.date_number(uuid), day.isoformat()),
            )

    def dates_answered(self) -> set[tuple[str, date]]:
        """Return identity and day of every date of which it was said what was played."""
        with self.reading():
            return {
                (uuid, date.fromisoformat(day))
                for uuid, day in self.connection.execute(
                    "SELECT uuid, day FROM dates_answered JOIN dates USING (date_id)"
                )
            }

    def days_off(self) -> list[DayOff]:
        """Return every stretch of days off in the order they begin."""
        with self.reading():
            return [
                DayOff(
                    uuid,
                    date.fromisoformat(first_day),
                    date.fromisoformat(last_day),
                    cleaned(rule),
                    cleaned(note),
                )
                for uuid, first_day, last_day, rule, note in self.connection.execute(
                    "SELECT uuid, first_day, last_day, rule, note FROM days_off"
                    " WHERE removed_at IS NULL ORDER BY first_day, uuid"
                )
            ]

    def save_day_off(self, kept: DayOff) -> None:
        """Add days off, or replace what is kept of them."""
        with self.writing():
            find = "SELECT edited_at FROM days_off WHERE uuid = ?"
            was = self.connection.execute(find, (kept.uuid,)).fetchone()
            self.connection.execute(
                _SAVE_DAY_OFF,
                (
                    kept.uuid,
                    kept.first_day.isoformat(),
                    kept.last_day.isoformat(),
                    kept.rule,
                    kept.note,
                    self.edit_stamp(was),
                ),
            )

    def remove_day_off(self, uuid: str) -> None:
        """Take days off out.

        Raises:
            Unknown: There are no such days off, or they were removed.
        """
        with self.writing():
            find = "SELECT edited_at FROM days_off WHERE uuid = ? AND removed_at IS NULL"
            was = self.connection.execute(find, (uuid,)).fetchone()
            if was is None:
                raise self.unknown("day off", uuid)
            self.connection.execute(
                "UPDATE days_off SET edited_at = ?1, removed_at = ?1 WHERE uuid = ?2",
                (self.edit_stamp(was), uuid),
            )

    def date_number(self, uuid: str) -> int:
        """Return the number by which rows point at a date, removed ones included.

        Raises:
            Unknown: The file has no such date.
        """
        row = self.connection.execute(
            "SELECT date_id FROM dates WHERE uuid = ?", (uuid,)
        ).fetchone()
        if row is None:
            raise self.unknown("date", uuid)
        return int(row[0])

    def _set_number(self, uuid: str) -> int:
        row = self.connection.execute("SELECT set_id FROM sets WHERE uuid = ?", (uuid,)).fetchone()
        if row is None:
            raise self.unknown("set", uuid)
        return int(row[0])


def _by_date(rows: Iterable[tuple[Any, ...]]) -> dict[int, list[str]]:
    found: defaultdict[int, list[str]] = defaultdict(list)
    for number, value in rows:
        found[number].append(value)
    return found


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
