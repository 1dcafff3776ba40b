"""The part of a merge that is about practice days: entries, lines, sets, dates, sittings.

Entries are taken by their identity and an undone one is undone in both; what can be edited is
kept as it was edited last, whole, with its tunes in order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import sqlite3

_SETS = (
    "INSERT INTO main.sets (uuid, name, edited_at, removed_at)"
    " SELECT uuid, name, edited_at, removed_at FROM other.sets AS o WHERE o.set_id = ?1"
    " ON CONFLICT (uuid) DO UPDATE SET name = excluded.name, edited_at = excluded.edited_at,"
    " removed_at = excluded.removed_at RETURNING set_id"
)
_DATES = (
    "INSERT INTO main.dates (uuid, title, kind, location, first_day, rule, weeks_before,"
    " edited_at, removed_at) SELECT uuid, title, kind, location, first_day, rule, weeks_before,"
    " edited_at, removed_at FROM other.dates AS o WHERE o.date_id = ?1"
    " ON CONFLICT (uuid) DO UPDATE SET title = excluded.title, kind = excluded.kind,"
    " location = excluded.location, first_day = excluded.first_day, rule = excluded.rule,"
    " weeks_before = excluded.weeks_before, edited_at = excluded.edited_at,"
    " removed_at = excluded.removed_at RETURNING date_id"
)
_SET_LINES = (
    "DELETE FROM main.set_tunes WHERE set_id = ?2 AND ?1 = ?1",
    "INSERT INTO main.set_tunes (set_id, place, tune_id) SELECT ?2, l.place, t.tune_id"
    " FROM other.set_tunes AS l JOIN other.tunes AS o USING (tune_id)"
    " JOIN main.tunes AS t ON t.uuid = o.uuid WHERE l.set_id = ?1",
)
_DATE_LINES = (
    "DELETE FROM main.date_tunes WHERE date_id = ?2 AND ?1 = ?1",
    "DELETE FROM main.date_sets WHERE date_id = ?2 AND ?1 = ?1",
    "DELETE FROM main.date_except_days WHERE date_id = ?2 AND ?1 = ?1",
    "INSERT INTO main.date_tunes (date_id, place, tune_id) SELECT ?2, l.place, t.tune_id"
    " FROM other.date_tunes AS l JOIN other.tunes AS o USING (tune_id)"
    " JOIN main.tunes AS t ON t.uuid = o.uuid WHERE l.date_id = ?1",
    "INSERT INTO main.date_sets (date_id, place, set_id) SELECT ?2, l.place, s.set_id"
    " FROM other.date_sets AS l JOIN other.sets AS o USING (set_id)"
    " JOIN main.sets AS s ON s.uuid = o.uuid WHERE l.date_id = ?1",
    "INSERT INTO main.date_except_days (date_id, day)"
    " SELECT ?2, day FROM other.date_except_days WHERE date_id = ?1",
)
_LATER_SETS = (
    "SELECT o.set_id FROM other.sets AS o LEFT JOIN main.sets AS m USING (uuid)"
    " WHERE m.set_id IS NULL OR o.edited_at > m.edited_at ORDER BY o.set_id"
)
_LATER_DATES = (
    "SELECT o.date_id FROM other.dates AS o LEFT JOIN main.dates AS m USING (uuid)"
    " WHERE m.date_id IS NULL OR o.edited_at > m.edited_at ORDER BY o.date_id"
)
_ADD_PRACTICES = (
    "INSERT INTO main.practices (uuid, tune_id, date_id, way, words, minutes, head, at, day,"
    " withdrawn_at) SELECT o.uuid, t.tune_id, d.date_id, o.way, o.words, o.minutes, o.head, o.at,"
    " o.day, o.withdrawn_at FROM other.practices AS o"
    " LEFT JOIN other.tunes AS ot ON ot.tune_id = o.tune_id"
    " LEFT JOIN main.tunes AS t ON t.uuid = ot.uuid"
    " LEFT JOIN other.dates AS od ON od.date_id = o.date_id"
    " LEFT JOIN main.dates AS d ON d.uuid = od.uuid"
    " WHERE o.uuid NOT IN (SELECT uuid FROM main.practices) ORDER BY o.practice_id"
)
_WITHDRAWN = (
    "SELECT o.withdrawn_at, p.practice_id, p.tune_id FROM main.practices AS p"
    " JOIN other.practices AS o USING (uuid)"
    " WHERE p.withdrawn_at IS NULL AND o.withdrawn_at IS NOT NULL"
)
_LATER_WINS = (
    "INSERT INTO main.days_off (uuid, first_day, last_day, rule, note, edited_at, removed_at)"
    " SELECT uuid, first_day, last_day, rule, note, edited_at, removed_at FROM other.days_off"
    " WHERE true ON CONFLICT (uuid) DO UPDATE SET first_day = excluded.first_day,"
    " last_day = excluded.last_day, rule = excluded.rule, note = excluded.note,"
    " edited_at = excluded.edited_at, removed_at = excluded.removed_at"
    " WHERE excluded.edited_at > days_off.edited_at",
    "INSERT INTO main.heard_lines (uuid, day, name, from_whom, alike, note, tune_id, edited_at,"
    " removed_at) SELECT o.uuid, o.day, o.name, o.from_whom, o.alike, o.note, t.tune_id,"
    " o.edited_at, o.removed_at FROM other.heard_lines AS o"
    " LEFT JOIN other.tunes AS ot ON ot.tune_id = o.tune_id"
    " LEFT JOIN main.tunes AS t ON t.uuid = ot.uuid WHERE true"
    " ON CONFLICT (uuid) DO UPDATE SET day = excluded.day, name = excluded.name,"
    " from_whom = excluded.from_whom, alike = excluded.alike, note = excluded.note,"
    " tune_id = excluded.tune_id, edited_at = excluded.edited_at,"
    " removed_at = excluded.removed_at WHERE excluded.edited_at > heard_lines.edited_at",
    "INSERT INTO main.pick_ups (day, line, edited_at) SELECT day, line, edited_at"
    " FROM other.pick_ups WHERE true ON CONFLICT (day) DO UPDATE SET line = excluded.line,"
    " edited_at = excluded.edited_at WHERE excluded.edited_at > pick_ups.edited_at",
    "INSERT INTO main.sittings (day, step, head, stopped, closed_at, edited_at)"
    " SELECT day, step, head, stopped, closed_at, edited_at FROM other.sittings WHERE true"
    " ON CONFLICT (day) DO UPDATE SET step = excluded.step, head = excluded.head,"
    " stopped = excluded.stopped, closed_at = excluded.closed_at,"
    " edited_at = excluded.edited_at WHERE excluded.edited_at > sittings.edited_at",
    "INSERT OR IGNORE INTO main.dates_answered (date_id, day) SELECT d.date_id, o.day"
    " FROM other.dates_answered AS o JOIN other.dates AS od USING (date_id)"
    " JOIN main.dates AS d ON d.uuid = od.uuid",
)


@dataclass(frozen=True, slots=True)
class DaysMerged:
    """What came of it, as numbers of rows."""

    practices: int
    sets: int
    dates: int


def merge_days(connection: sqlite3.Connection) -> DaysMerged:
    """Take in the practice days of the attached database ``other``, after its tunes."""
    execute = connection.execute
    sets = _take(connection, _LATER_SETS, _SETS, _SET_LINES)
    dates = _take(connection, _LATER_DATES, _DATES, _DATE_LINES)
    withdrawn = execute(_WITHDRAWN).fetchall()
    connection.executemany(
        "UPDATE main.practices SET withdrawn_at = ? WHERE practice_id = ?",
        [row[:2] for row in withdrawn],
    )
    (last,) = execute("SELECT coalesce(max(practice_id), 0) FROM main.practices").fetchone()
    practices = execute(_ADD_PRACTICES).rowcount
    execute(
        "DELETE FROM main.beliefs WHERE tune_id IN"
        " (SELECT tune_id FROM main.practices WHERE practice_id > ?)",
        (last,),
    )
    connection.executemany(
        "DELETE FROM main.beliefs WHERE tune_id = ?", {(row[2],) for row in withdrawn}
    )
    for sql in _LATER_WINS:
        execute(sql)
    return DaysMerged(practices, sets, dates)


def _take(connection: sqlite3.Connection, later: str, head: str, lines: tuple[str, ...]) -> int:
    """Take rows edited later there, with the lines that belong to them; return how many."""
    rows = connection.execute(later).fetchall()
    for (theirs,) in rows:
        (mine,) = connection.execute(head, (theirs,)).fetchone()
        for sql in lines:
            connection.execute(sql, (theirs, mine))
    return len(rows)
