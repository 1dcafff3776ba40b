"""Rounds, and tunes the player does not want today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from tunememory.store.base import RepertoireFile, stamp
from tunememory.store.notes import read_tuning, write_tuning
from tunememory.tunes.check import RoundKind

if TYPE_CHECKING:
    from tunememory.tunes.tuning import Tuning


@dataclass(frozen=True, slots=True)
class Round:
    """A run of checks.

    Attributes:
        uuid: Random identity.
        kind: First, last or loose.
        day: Practice day.
        begun_at: Aware, UTC.
        minutes: Minutes it was planned for.
        tuning: The tuning it was played in; ``None`` is the player's usual one.
        ended_at: ``None`` while it goes on, or when it was left.
    """

    uuid: str
    kind: RoundKind
    day: date
    begun_at: datetime
    minutes: float
    tuning: Tuning | None = None
    ended_at: datetime | None = None


class RoundRows(RepertoireFile):
    """Rounds by practice day."""

    def begin_round(self, begun: Round) -> None:
        """Keep a round; checks may then belong to it.

        Raises:
            RepertoireError: It is in the file already, or breaks a rule of the file.
        """
        with self.writing():
            self.connection.execute(
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

    def end_round(self, uuid: str, ended_at: datetime) -> None:
        """Mark a round as ended.

        Raises:
            Unknown: The file has no such round.
        """
        with self.writing():
            cursor = self.connection.execute(
                "UPDATE rounds SET ended_at = ? WHERE uuid = ?", (stamp(ended_at), uuid)
            )
            if not cursor.rowcount:
                raise self.unknown("round", uuid)

    def rounds(self, day: date) -> list[Round]:
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
                for uuid, kind, begun_at, ended_at, minutes, tuning in self.connection.execute(
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
            self.connection.execute(
                "INSERT OR IGNORE INTO put_off (tune_id, day) VALUES (?, ?)",
                (self.tune_number(tune), day.isoformat()),
            )

    def put_off_on(self, day: date) -> set[str]:
        """Return the tunes not wanted on a practice day."""
        with self.reading():
            return {
                uuid
                for (uuid,) in self.connection.execute(
                    "SELECT uuid FROM put_off JOIN tunes USING (tune_id) WHERE day = ?",
                    (day.isoformat(),),
                )
            }
