"""Where a day's sitting stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tunememory.store.base import RepertoireFile, stamp
from tunememory.tunes.sitting import At

_SITTINGS = "SELECT day, step, head, stopped, closed_at FROM sittings"


@dataclass(frozen=True, slots=True)
class Sitting:
    """A day's sitting.

    Attributes:
        day: Practice day.
        step: Where it stands.
        head_only: Without the instrument.
        stopped: Ended because of pain.
        closed_at: When the day was closed, aware, UTC; ``None`` while it is open.
    """

    day: date
    step: At = At.FIRST
    head_only: bool = False
    stopped: bool = False
    closed_at: datetime | None = None


class SittingRows(RepertoireFile):
    """Sittings by practice day."""

    def sitting(self, day: date) -> Sitting | None:
        """Return the sitting of a day, ``None`` where none was begun."""
        with self.reading():
            row = self.connection.execute(
                _SITTINGS + " WHERE day = ?", (day.isoformat(),)
            ).fetchone()
            return None if row is None else _sitting(*row)

    def sittings(self) -> list[Sitting]:
        """Return every sitting, oldest first."""
        with self.reading():
            return [_sitting(*row) for row in self.connection.execute(_SITTINGS + " ORDER BY day")]

    def save_sitting(self, kept: Sitting) -> None:
        """Keep where a day's sitting stands, in place of what was kept."""
        with self.writing():
            execute = self.connection.execute
            day = kept.day.isoformat()
            was = execute("SELECT edited_at FROM sittings WHERE day = ?", (day,)).fetchone()
            execute(
                "INSERT OR REPLACE INTO sittings (day, step, head, stopped, closed_at, edited_at)"
                " VALUES (?, ?, ?, ?, ?, ?)",
                (
                    day,
                    kept.step.value,
                    int(kept.head_only),
                    int(kept.stopped),
                    stamp(kept.closed_at) if kept.closed_at else None,
                    self.edit_stamp(was),
                ),
            )


def _sitting(day: str, step: str, head: int, stopped: int, closed: str | None) -> Sitting:
    return Sitting(
        date.fromisoformat(day),
        At(step),
        bool(head),
        bool(stopped),
        datetime.fromisoformat(closed) if closed else None,
    )
