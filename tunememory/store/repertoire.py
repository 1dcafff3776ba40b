"""The repertoire file as one object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from tunememory.clock import Clock, system_clock
from tunememory.store.backup import WAIT
from tunememory.store.beliefs import BeliefRows, ParameterRows
from tunememory.store.checks import CheckRows, RoundRows
from tunememory.store.connection import RepertoireFile, Rows, checked_json
from tunememory.store.dates import DateRows, DayOffRows, SetRows
from tunememory.store.days import HeardRows, PickUpRows, PracticeRows, SittingRows
from tunememory.store.opening import connect
from tunememory.store.tunes import ImportRows, TuneRows, TwinRows

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping
    from pathlib import Path
    from types import TracebackType


class SettingRows(Rows):
    """Settings by name; what a value means is for others to know."""

    def all(self) -> dict[str, str]:
        """Return every setting that was ever saved, each as JSON text."""
        with self.reading():
            return dict(self.execute("SELECT name, value FROM settings"))

    def save(self, values: Mapping[str, str]) -> None:
        """Save settings; others stay as they are.

        Args:
            values: JSON text by name.

        Raises:
            ValueError: A value is not JSON; nothing was saved.
        """
        with self.writing():
            self.executemany(
                "INSERT OR REPLACE INTO settings (name, value) VALUES (?, ?)",
                [(name, checked_json(value)) for name, value in values.items()],
            )


class Repertoire(RepertoireFile):
    """An open repertoire file with what it holds; ``with`` closes it.

    Attributes:
        tunes: Tunes with their titles and starts.
        imports: Where tunes came from.
        twins: Starts that begin alike.
        sets: Sets of tunes.
        checks: The history of checks.
        rounds: Runs of checks, and tunes put off for a day.
        practices: The history of practice.
        sittings: Where each day's sitting stands.
        pick_ups: Lines to the next day.
        heard: What was heard in company.
        dates: Dates to be ready for.
        days_off: Days on which nothing is asked.
        beliefs: What is believed of each tune, worked out from its history.
        parameters: What was fitted of the player.
        settings: The player's settings.
    """

    def __init__(
        self, connection: sqlite3.Connection, path: Path, clock: Clock, *, readonly: bool
    ) -> None:
        super().__init__(connection, path, clock, readonly=readonly)
        self.tunes = TuneRows(self)
        self.imports = ImportRows(self)
        self.twins = TwinRows(self)
        self.sets = SetRows(self)
        self.checks = CheckRows(self)
        self.rounds = RoundRows(self)
        self.practices = PracticeRows(self)
        self.sittings = SittingRows(self)
        self.pick_ups = PickUpRows(self)
        self.heard = HeardRows(self)
        self.dates = DateRows(self)
        self.days_off = DayOffRows(self)
        self.beliefs = BeliefRows(self)
        self.parameters = ParameterRows(self)
        self.settings = SettingRows(self)

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        create: bool = True,
        readonly: bool = False,
        clock: Clock | None = None,
        wait: float = WAIT,
    ) -> Self:
        """Open a repertoire, make it, or bring it up to date.

        Args:
            path: The file.
            create: Make the file, and its folder for this user alone, when there is none.
            readonly: Open without leave to write; such a file has to be there and up to date.
            clock: Dates edits and daily copies; the system's when left out.
            wait: Seconds to wait for another window's write to end.

        Raises:
            RepertoireError: With the reason; the file is as it was.
        """
        connection = connect(path, create=create, readonly=readonly, wait=wait)
        try:
            return cls(connection, path, clock or system_clock(), readonly=readonly)
        except BaseException:
            connection.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()
