"""Sets, dates to be ready for, and days off."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING, Any

from tunememory.store.connection import Rows, cleaned, saving
from tunememory.store.records import Date, DayOff, TuneSet

if TYPE_CHECKING:
    from collections.abc import Iterable


_DATES = (
    "SELECT date_id, uuid, title, first_day, kind, location, rule, weeks_before FROM dates"
    " WHERE removed_at IS NULL ORDER BY date_id"
)
_SAVE_DATE = saving(
    "dates", "uuid, title, first_day, kind, location, rule, weeks_before, edited_at"
)
_SAVE_DAY_OFF = saving("days_off", "uuid, first_day, last_day, rule, note, edited_at")
_SAVE_SET = saving("sets", "uuid, name, edited_at")


class DateRows(Rows):
    """Dates by identity. Removed ones stay in the file for merging."""

    def all(self) -> list[Date]:
        """Return every date in the order they were made; removed tunes and sets are left out."""
        with self.reading():
            execute = self.execute
            tunes = _grouped(
                execute(
                    "SELECT date_id, uuid FROM date_tunes JOIN tunes USING (tune_id)"
                    " WHERE removed_at IS NULL ORDER BY date_id, place"
                )
            )
            sets = _grouped(
                execute(
                    "SELECT date_id, uuid FROM date_sets JOIN sets USING (set_id)"
                    " WHERE removed_at IS NULL ORDER BY date_id, place"
                )
            )
            out = _grouped(execute("SELECT date_id, day FROM date_except_days ORDER BY 1, 2"))
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

    def save(self, kept: Date) -> None:
        """Add a date, or replace what is kept of it.

        Raises:
            Unknown: The file has no such tune or set.
        """
        with self.writing():
            (number,) = self.execute(
                _SAVE_DATE + " RETURNING date_id",
                (
                    kept.uuid,
                    kept.title,
                    kept.first_day.isoformat(),
                    kept.kind,
                    kept.place,
                    kept.rule,
                    kept.weeks_before,
                    self.file.edit_stamp("dates", kept.uuid),
                ),
            ).fetchone()
            for lines in ("date_tunes", "date_sets", "date_except_days"):
                self.execute(f"DELETE FROM {lines} WHERE date_id = ?", (number,))
            self.executemany(
                "INSERT INTO date_tunes (date_id, place, tune_id) VALUES (?, ?, ?)",
                _lines(number, [self.file.number_of("tune", tune) for tune in kept.tunes]),
            )
            self.executemany(
                "INSERT INTO date_sets (date_id, place, set_id) VALUES (?, ?, ?)",
                _lines(number, [self.file.number_of("set", one) for one in kept.sets]),
            )
            self.executemany(
                "INSERT INTO date_except_days (date_id, day) VALUES (?, ?)",
                [(number, day.isoformat()) for day in sorted(set(kept.except_days))],
            )

    def remove(self, uuid: str) -> None:
        """Take a date out of sight; what was played there stays.

        Raises:
            Unknown: There is no such date, or it was removed.
        """
        self.remove_from("dates", "date", uuid)

    def answer(self, uuid: str, day: date) -> None:
        """Note that the player has said what was played at a date; twice is no fault.

        Raises:
            Unknown: The file has no such date.
        """
        with self.writing():
            self.execute(
                "INSERT OR IGNORE INTO dates_answered (date_id, day) VALUES (?, ?)",
                (self.file.number_of("date", uuid), day.isoformat()),
            )

    def answered(self) -> set[tuple[str, date]]:
        """Return identity and day of every date of which it was said what was played."""
        with self.reading():
            return {
                (uuid, date.fromisoformat(day))
                for uuid, day in self.execute(
                    "SELECT uuid, day FROM dates_answered JOIN dates USING (date_id)"
                )
            }


class DayOffRows(Rows):
    """Days off by identity. Removed ones stay in the file for merging."""

    def all(self) -> list[DayOff]:
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
                for uuid, first_day, last_day, rule, note in self.execute(
                    "SELECT uuid, first_day, last_day, rule, note FROM days_off"
                    " WHERE removed_at IS NULL ORDER BY first_day, uuid"
                )
            ]

    def save(self, kept: DayOff) -> None:
        """Add days off, or replace what is kept of them."""
        with self.writing():
            self.execute(
                _SAVE_DAY_OFF,
                (
                    kept.uuid,
                    kept.first_day.isoformat(),
                    kept.last_day.isoformat(),
                    kept.rule,
                    kept.note,
                    self.file.edit_stamp("days_off", kept.uuid),
                ),
            )

    def remove(self, uuid: str) -> None:
        """Take days off out.

        Raises:
            Unknown: There are no such days off, or they were removed.
        """
        self.remove_from("days_off", "day off", uuid)


class SetRows(Rows):
    """Sets by identity. Removed ones stay in the file, out of sight, for merging."""

    def all(self) -> list[TuneSet]:
        """Return every set in the order they were made; tunes that were removed are left out."""
        with self.reading():
            execute = self.execute
            tunes = _grouped(
                execute(
                    "SELECT set_id, uuid FROM set_tunes JOIN tunes USING (tune_id)"
                    " WHERE removed_at IS NULL ORDER BY set_id, place"
                )
            )
            return [
                TuneSet(uuid, cleaned(name), tuple(tunes.get(number, ())))
                for number, uuid, name in execute(
                    "SELECT set_id, uuid, name FROM sets WHERE removed_at IS NULL ORDER BY set_id"
                )
            ]

    def save(self, kept: TuneSet) -> None:
        """Add a set, or replace what is kept of it.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            (number,) = self.execute(
                _SAVE_SET + " RETURNING set_id",
                (kept.uuid, kept.name, self.file.edit_stamp("sets", kept.uuid)),
            ).fetchone()
            self.execute("DELETE FROM set_tunes WHERE set_id = ?", (number,))
            self.executemany(
                "INSERT INTO set_tunes (set_id, place, tune_id) VALUES (?, ?, ?)",
                _lines(number, [self.file.number_of("tune", tune) for tune in kept.tunes]),
            )

    def remove(self, uuid: str) -> None:
        """Take a set out of sight; its tunes and what is known of its joins stay.

        Raises:
            Unknown: There is no such set, or it was removed.
        """
        self.remove_from("sets", "set", uuid)


def _grouped(rows: Iterable[tuple[Any, ...]]) -> dict[int, list[str]]:
    found: defaultdict[int, list[str]] = defaultdict(list)
    for number, value in rows:
        found[number].append(value)
    return found


def _lines(number: int, of: Iterable[int]) -> list[tuple[int, int, int]]:
    return [(number, place, one) for place, one in enumerate(of)]
