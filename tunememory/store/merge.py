"""Joining two copies of a repertoire that went different ways.

Rows are known by their random identity: a check, round or import that only the other file has is
taken; a tune both have is kept as it was edited last; a check undone in either is undone. Nothing
is taken out. Beliefs of the tunes concerned are dropped, to be replayed from the joined history.
"""

from __future__ import annotations

import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tunememory.store.errors import RepertoireError, damaged, explained, shown
from tunememory.store.opening import connect, copy_before, copy_file
from tunememory.store.verify import problems_of

if TYPE_CHECKING:
    import sqlite3

    from tunememory.store.connection import RepertoireFile


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
_WITHDRAWN_OF_DAYS = (
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
    withdrawn = execute(_WITHDRAWN_OF_DAYS).fetchall()
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


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What came of a merge, as numbers of rows.

    Attributes:
        tunes_added: Tunes only the other file had, removed ones left out.
        tunes_changed: Tunes the other file had edited later.
        checks_added: Checks only the other file had.
        checks_withdrawn: Checks that were undone in the other file alone.
        rounds_added: Rounds only the other file had.
        practices_added: Practice entries only the other file had.
        sets_taken: Sets that were new or edited later there.
        dates_taken: Dates that were new or edited later there.
    """

    tunes_added: int
    tunes_changed: int
    checks_added: int
    checks_withdrawn: int
    rounds_added: int
    practices_added: int = 0
    sets_taken: int = 0
    dates_taken: int = 0


_NEW_TUNES = (
    "SELECT tune_id, removed_at IS NULL FROM other.tunes"
    " WHERE uuid NOT IN (SELECT uuid FROM main.tunes) ORDER BY tune_id"
)
_LATER_TUNES = (
    "SELECT o.tune_id, m.tune_id FROM other.tunes AS o JOIN main.tunes AS m USING (uuid)"
    " WHERE o.edited_at > m.edited_at"
)
_ADD_TUNE = (
    "INSERT INTO main.tunes (uuid, kind, root, mode, key_changes, metre, tuning, status,"
    " declared, source, note, favourite, added, edited_at, removed_at)"
    " SELECT uuid, kind, root, mode, key_changes, metre, tuning, status, declared,"
    " source, note, favourite, added, edited_at, removed_at FROM other.tunes WHERE tune_id = ?"
)
_CHANGE_TUNE = (
    "UPDATE main.tunes SET (kind, root, mode, key_changes, metre, tuning, status,"
    " declared, source, note, favourite, added, edited_at, removed_at) ="
    " (SELECT kind, root, mode, key_changes, metre, tuning, status, declared,"
    " source, note, favourite, added, edited_at, removed_at"
    " FROM other.tunes AS o WHERE o.tune_id = ?)"
    " WHERE tune_id = ?"
)
_ADD_TITLES = (
    "INSERT INTO main.titles (tune_id, place, title)"
    " SELECT ?, place, title FROM other.titles WHERE tune_id = ?"
)
_ADD_STARTS = (
    "INSERT INTO main.starts (tune_id, place, part, notes, pickup, written, root, mode,"
    " key_changes, doubt)"
    " SELECT ?, place, part, notes, pickup, written, root, mode, key_changes, doubt"
    " FROM other.starts WHERE tune_id = ?"
)
_ADD_ROUNDS = (
    "INSERT INTO main.rounds (uuid, kind, day, begun_at, ended_at, minutes, tuning)"
    " SELECT uuid, kind, day, begun_at, ended_at, minutes, tuning FROM other.rounds"
    " WHERE uuid NOT IN (SELECT uuid FROM main.rounds) ORDER BY round_id"
)
_END_ROUNDS = (
    "UPDATE main.rounds SET ended_at = o.ended_at FROM other.rounds AS o"
    " WHERE o.uuid = rounds.uuid AND rounds.ended_at IS NULL AND o.ended_at IS NOT NULL"
)
_ADD_CHECKS = (
    "INSERT INTO main.checks (uuid, tune_id, round_id, at, day, round_kind, prompt, seconds,"
    " hints, wrong_key, strayed_id, withdrawn_at)"
    " SELECT o.uuid, t.tune_id, r.round_id, o.at, o.day, o.round_kind, o.prompt, o.seconds,"
    " o.hints, o.wrong_key, s.tune_id, o.withdrawn_at FROM other.checks AS o"
    " JOIN other.tunes AS ot ON ot.tune_id = o.tune_id JOIN main.tunes AS t ON t.uuid = ot.uuid"
    " LEFT JOIN other.rounds AS r2 ON r2.round_id = o.round_id"
    " LEFT JOIN main.rounds AS r ON r.uuid = r2.uuid"
    " LEFT JOIN other.tunes AS os ON os.tune_id = o.strayed_id"
    " LEFT JOIN main.tunes AS s ON s.uuid = os.uuid"
    " WHERE o.uuid NOT IN (SELECT uuid FROM main.checks) ORDER BY o.check_id"
)
_ADD_LEVELS = (
    "INSERT INTO main.levels (check_id, place, strand, level)"
    " SELECT c.check_id, l.place, l.strand, l.level FROM main.checks AS c"
    " JOIN other.checks AS o USING (uuid) JOIN other.levels AS l ON l.check_id = o.check_id"
    " WHERE c.check_id > ?"
)
_WITHDRAWN = (
    "SELECT o.withdrawn_at, c.check_id, c.tune_id FROM main.checks AS c"
    " JOIN other.checks AS o USING (uuid)"
    " WHERE c.withdrawn_at IS NULL AND o.withdrawn_at IS NOT NULL"
)
_ADD_THE_REST = (
    "INSERT OR IGNORE INTO main.put_off (tune_id, day)"
    " SELECT t.tune_id, o.day FROM other.put_off AS o"
    " JOIN other.tunes AS ot USING (tune_id) JOIN main.tunes AS t ON t.uuid = ot.uuid",
    "INSERT OR IGNORE INTO main.imports (book, reference, folded, tune_id, raw, hash)"
    " SELECT o.book, o.reference, o.folded, t.tune_id, o.raw, o.hash FROM other.imports AS o"
    " JOIN other.tunes AS ot USING (tune_id) JOIN main.tunes AS t ON t.uuid = ot.uuid",
    "INSERT INTO main.parameters (uuid, made_at, numbers, evidence, active)"
    " SELECT uuid, made_at, numbers, evidence, 0 FROM other.parameters"
    " WHERE uuid NOT IN (SELECT uuid FROM main.parameters) ORDER BY version",
    "INSERT OR IGNORE INTO main.settings (name, value) SELECT name, value FROM other.settings",
)
"""Days off, imports, parameter sets (none of theirs takes over), settings we lack."""


def merge_into(ours: RepertoireFile, other: Path) -> MergeReport:
    """Take into ``ours`` all that the file ``other`` has and it lacks.

    ``other`` is not changed and may be of an earlier format. Our file is copied first, to
    ``backups/NAME-before-merge``.

    Raises:
        RepertoireError: The other file is no sound repertoire, or ours cannot be written; ours
            is as it was.
    """
    with tempfile.TemporaryDirectory() as folder:
        theirs = Path(folder) / "other.tunes"
        with explained(other):
            connect(other, create=False, readonly=True, older=True).close()
            if ours.path.samefile(other):
                raise RepertoireError(f"{shown(other)} is this file itself; give another one.")
            copy_file(other, theirs)
        with explained(other), closing(connect(theirs, create=False, readonly=False)) as source:
            if problems := problems_of(source, other):
                raise damaged(other, problems[0])
        with explained(ours.path):
            ours.connection.execute("ATTACH DATABASE ? AS other", (f"{theirs.as_uri()}?mode=ro",))
            try:
                with ours.writing():
                    copy_before(ours.path, "merge")
                    return _merge(ours.connection)
            finally:
                ours.connection.execute("DETACH DATABASE other")


def _merge(connection: sqlite3.Connection) -> MergeReport:
    execute = connection.execute
    added, changed = _merge_tunes(connection)
    rounds = execute(_ADD_ROUNDS).rowcount
    execute(_END_ROUNDS)
    withdrawn = execute(_WITHDRAWN).fetchall()
    connection.executemany(
        "UPDATE main.checks SET withdrawn_at = ? WHERE check_id = ?", [row[:2] for row in withdrawn]
    )
    (last,) = execute("SELECT coalesce(max(check_id), 0) FROM main.checks").fetchone()
    checks = execute(_ADD_CHECKS).rowcount
    execute(_ADD_LEVELS, (last,))
    for sql in _ADD_THE_REST:
        execute(sql)
    execute(
        "DELETE FROM main.beliefs WHERE tune_id IN"
        " (SELECT tune_id FROM main.checks WHERE check_id > ?)",
        (last,),
    )
    connection.executemany(
        "DELETE FROM main.beliefs WHERE tune_id = ?",
        [*{(row[2],) for row in withdrawn}, *((number,) for number in changed)],
    )
    days = merge_days(connection)
    return MergeReport(
        added,
        len(changed),
        checks,
        len(withdrawn),
        rounds,
        days.practices,
        days.sets,
        days.dates,
    )


def _merge_tunes(connection: sqlite3.Connection) -> tuple[int, list[int]]:
    """Return how many tunes came in, and the numbers of those that changed."""
    execute = connection.execute
    added = 0
    later = execute(_LATER_TUNES).fetchall()
    for theirs, present in execute(_NEW_TUNES).fetchall():
        cursor = execute(_ADD_TUNE, (theirs,))
        _take_lines(connection, int(cursor.lastrowid or 0), theirs)
        added += present
    for theirs, mine in later:
        execute(_CHANGE_TUNE, (theirs, mine))
        execute("DELETE FROM main.titles WHERE tune_id = ?", (mine,))
        execute("DELETE FROM main.starts WHERE tune_id = ?", (mine,))
        _take_lines(connection, mine, theirs)
    return added, [mine for _, mine in later]


def _take_lines(connection: sqlite3.Connection, mine: int, theirs: int) -> None:
    connection.execute(_ADD_TITLES, (mine, theirs))
    connection.execute(_ADD_STARTS, (mine, theirs))
