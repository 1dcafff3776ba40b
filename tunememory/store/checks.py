"""The history of checks: rows are added, never changed; an undone check is only marked."""

from __future__ import annotations

from datetime import date, datetime
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from tunememory.recall.check import Check, Level, Prompt, RoundKind
from tunememory.store.beliefs import set_belief
from tunememory.store.connection import Rows, stamp
from tunememory.store.records import Round
from tunememory.store.tunes import read_tuning, write_tuning

if TYPE_CHECKING:
    from collections.abc import Iterable


_PROMPT_WORDS = {Prompt.HOW: "how", Prompt.WHAT: "what", Prompt.JOIN: "join"}
_PROMPTS = {word: prompt for prompt, word in _PROMPT_WORDS.items()}
_KINDS = {kind.value: kind for kind in RoundKind}
_LEVELS = {level.value: level for level in Level}

# CROSS JOIN keeps SQLite to this order of tables, so that the index gives the order of rows.
_CHECKS = (
    "SELECT c.uuid, t.uuid, c.at, c.day, c.round_kind, c.prompt, c.seconds, c.hints, c.wrong_key,"
    " s.uuid, r.uuid, l.strand, l.level FROM checks AS c CROSS JOIN levels AS l USING (check_id)"
    " CROSS JOIN tunes AS t ON t.tune_id = c.tune_id"
    " LEFT JOIN tunes AS s ON s.tune_id = c.strayed_id"
    " LEFT JOIN rounds AS r ON r.round_id = c.round_id WHERE c.withdrawn_at IS NULL"
)
_JOINS = _CHECKS + " AND c.prompt = 'join'"
_ORDER = " ORDER BY c.at, c.check_id, l.place"
_NEWEST = (
    " AND c.check_id IN (SELECT check_id FROM checks WHERE withdrawn_at IS NULL"
    " ORDER BY at DESC, check_id DESC LIMIT ?)"
)


class CheckRows(Rows):
    """The history of checks. Order is by moment, then as they were written."""

    def record(self, check: Check, belief: bytes | None) -> None:
        """Keep one check and what is now believed of its tune; on the disk when this returns.

        A join is no strand of its tune, so its checks leave the tune's belief alone.

        Args:
            check: The check.
            belief: The tune's belief after it, or ``None`` to leave it to be worked out again
                from the history.

        Raises:
            RepertoireError: Nothing was kept.
        """
        with self.writing():
            number = self._insert(check)
            if check.prompt is not Prompt.JOIN:
                set_belief(self.file.connection, number, belief)

    def add(self, checks: Iterable[Check]) -> None:
        """Keep many checks, all or none; the beliefs of their tunes are dropped.

        Raises:
            RepertoireError: Nothing was kept.
        """
        with self.writing():
            for number, prompt in {(self._insert(check), check.prompt) for check in checks}:
                if prompt is not Prompt.JOIN:
                    set_belief(self.file.connection, number, None)

    def withdraw(self, check_uuid: str, at: datetime, belief: bytes | None) -> None:
        """Undo a check: it stays in the file, marked, and no longer counts.

        Args:
            check_uuid: Which check.
            at: When it was undone, aware.
            belief: The tune's belief without it, or ``None`` as for ``record``.

        Raises:
            Unknown: There is no such check that counts.
        """
        with self.writing():
            row = self.execute(
                "UPDATE checks SET withdrawn_at = ? WHERE uuid = ? AND withdrawn_at IS NULL"
                " RETURNING tune_id, prompt",
                (stamp(at), check_uuid),
            ).fetchone()
            if row is None:
                raise self.file.unknown("check", check_uuid)
            if _PROMPTS[row[1]] is not Prompt.JOIN:
                set_belief(self.file.connection, row[0], belief)

    def all(
        self,
        tune: str | None = None,
        since: datetime | None = None,
        before: datetime | None = None,
    ) -> list[Check]:
        """Return the checks that count, oldest first.

        Args:
            tune: Only of this tune.
            since: Only from this moment on, aware.
            before: Only before this moment, aware.

        Raises:
            Unknown: The file never had such a tune.
        """
        with self.reading():
            sql = _CHECKS
            parameters: list[str | int] = []
            if tune is not None:
                sql += " AND c.tune_id = ?"
                parameters.append(self.file.number_of("tune", tune))
            if since is not None:
                sql += " AND c.at >= ?"
                parameters.append(stamp(since))
            if before is not None:
                sql += " AND c.at < ?"
                parameters.append(stamp(before))
            return _assemble(self.execute(sql + _ORDER, parameters).fetchall())

    def recent(self, limit: int) -> list[Check]:
        """Return the last ``limit`` checks that count, newest first."""
        with self.reading():
            rows = self.execute(_CHECKS + _NEWEST + _ORDER, (limit,)).fetchall()
            return _assemble(rows)[::-1]

    def of_joins(self) -> list[Check]:
        """Return the checks of joins that count, oldest first."""
        with self.reading():
            return _assemble(self.execute(_JOINS + _ORDER).fetchall())

    def last_by_tune(self) -> dict[str, datetime]:
        """Return when each tune that has been checked was checked last, its joins left out."""
        with self.reading():
            return {
                uuid: datetime.fromisoformat(at)
                for uuid, at in self.execute(
                    "SELECT uuid, (SELECT at FROM checks WHERE tune_id = tunes.tune_id"
                    " AND withdrawn_at IS NULL AND prompt <> 'join' ORDER BY at DESC LIMIT 1)"
                    " AS last FROM tunes"
                    " WHERE removed_at IS NULL AND last IS NOT NULL"
                )
            }

    def count(self) -> int:
        """Return how many checks count."""
        with self.reading():
            (number,) = self.execute(
                "SELECT count(*) FROM checks WHERE withdrawn_at IS NULL"
            ).fetchone()
        return int(number)

    def by_day(self, since: datetime, before: datetime) -> dict[date, int]:
        """Return how many checks count on each practice day that has any.

        Args:
            since: Only of checks from this moment on, aware.
            before: Only of checks before this moment, aware.
        """
        with self.reading():
            return {
                date.fromisoformat(day): number
                for day, number in self.execute(
                    "SELECT day, count(*) FROM checks WHERE withdrawn_at IS NULL"
                    " AND at >= ? AND at < ? GROUP BY day ORDER BY day",
                    (stamp(since), stamp(before)),
                )
            }

    def _insert(self, check: Check) -> int:
        """Add a check and return the number of its tune."""
        number = self.file.number_of("tune", check.tune)
        if not check.levels:
            raise ValueError("a check needs at least one level")
        strayed = self.file.number_of("tune", check.strayed_into) if check.strayed_into else None
        cursor = self.execute(
            "INSERT INTO checks (uuid, tune_id, round_id, at, day, round_kind, prompt, seconds,"
            " hints, wrong_key, strayed_id) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                check.uuid,
                number,
                self.file.number_of("round", check.round_uuid) if check.round_uuid else None,
                stamp(check.at),
                check.day.isoformat(),
                check.round_kind.value,
                _PROMPT_WORDS[check.prompt],
                check.seconds,
                check.hints,
                int(check.wrong_key),
                strayed,
            ),
        )
        self.executemany(
            "INSERT INTO levels (check_id, place, strand, level) VALUES (?, ?, ?, ?)",
            [
                (cursor.lastrowid, place, strand, int(level))
                for place, (strand, level) in enumerate(check.levels)
            ],
        )
        return number


def _assemble(rows: Iterable[tuple[Any, ...]]) -> list[Check]:
    checks: list[Check] = []
    for uuid, lines in groupby(rows, itemgetter(0)):
        levels: list[tuple[str, Level]] = []
        for row in lines:
            levels.append((row[11], _LEVELS[row[12]]))
        _, tune, at, day, kind, prompt, seconds, hints, wrong_key, strayed, round_uuid = row[:11]
        checks.append(
            Check(
                uuid,
                tune,
                datetime.fromisoformat(at),
                date.fromisoformat(day),
                _KINDS[kind],
                _PROMPTS[prompt],
                tuple(levels),
                seconds,
                hints,
                bool(wrong_key),
                strayed or "",
                round_uuid or "",
            )
        )
    return checks


class RoundRows(Rows):
    """Rounds by practice day."""

    def begin(self, begun: Round) -> None:
        """Keep a round; checks may then belong to it.

        Raises:
            RepertoireError: It is in the file already, or breaks a rule of the file.
        """
        with self.writing():
            self.execute(
                "INSERT INTO rounds (uuid, kind, day, begun_at, ended_at, minutes, tuning)"
                " VALUES (?, ?, ?, ?, ?, ?, ?)",
                (
                    begun.uuid,
                    begun.kind.value,
                    begun.day.isoformat(),
                    stamp(begun.begun_at),
                    stamp(begun.ended_at) if begun.ended_at else None,
                    begun.minutes,
                    write_tuning(begun.tuning),
                ),
            )

    def end(self, uuid: str, ended_at: datetime) -> None:
        """Mark a round as ended.

        Raises:
            Unknown: The file has no such round.
        """
        with self.writing():
            cursor = self.execute(
                "UPDATE rounds SET ended_at = ? WHERE uuid = ?", (stamp(ended_at), uuid)
            )
            if not cursor.rowcount:
                raise self.file.unknown("round", uuid)

    def on(self, day: date) -> list[Round]:
        """Return the rounds of a practice day in the order they were begun."""
        with self.reading():
            return [
                Round(
                    uuid,
                    RoundKind(kind),
                    day,
                    datetime.fromisoformat(begun_at),
                    minutes,
                    read_tuning(tuning),
                    datetime.fromisoformat(ended_at) if ended_at else None,
                )
                for uuid, kind, begun_at, ended_at, minutes, tuning in self.execute(
                    "SELECT uuid, kind, begun_at, ended_at, minutes, tuning FROM rounds"
                    " WHERE day = ? ORDER BY begun_at, round_id",
                    (day.isoformat(),),
                )
            ]

    def put_off(self, tune: str, day: date) -> None:
        """Note that a tune is not wanted on a practice day; saying it twice is no fault.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            self.execute(
                "INSERT OR IGNORE INTO put_off (tune_id, day) VALUES (?, ?)",
                (self.file.number_of("tune", tune), day.isoformat()),
            )

    def put_off_on(self, day: date) -> set[str]:
        """Return the tunes not wanted on a practice day."""
        with self.reading():
            return {
                uuid
                for (uuid,) in self.execute(
                    "SELECT uuid FROM put_off JOIN tunes USING (tune_id) WHERE day = ?",
                    (day.isoformat(),),
                )
            }
