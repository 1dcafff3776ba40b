"""The repertoire file as one object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from tunememory.clock import Clock, system_clock
from tunememory.store.backups import copy_file, daily_copies
from tunememory.store.beliefs import BeliefRows
from tunememory.store.checks import CheckRows
from tunememory.store.connect import WAIT, connect
from tunememory.store.errors import RepertoireError, explained, shown
from tunememory.store.imports import ImportRows
from tunememory.store.lines import LineRows
from tunememory.store.merge import MergeReport, merge_into
from tunememory.store.practices import PracticeRows
from tunememory.store.prepared import PreparedRows
from tunememory.store.rounds import RoundRows
from tunememory.store.sets import SetRows
from tunememory.store.settings import SettingRows
from tunememory.store.sittings import SittingRows
from tunememory.store.tunes import TuneRows
from tunememory.store.twins import TwinRows
from tunememory.store.verify import problems_of

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path
    from types import TracebackType


class Repertoire(
    TuneRows,
    CheckRows,
    RoundRows,
    PracticeRows,
    LineRows,
    SetRows,
    SittingRows,
    BeliefRows,
    SettingRows,
    ImportRows,
    TwinRows,
    PreparedRows,
):
    """An open repertoire file; ``with`` closes it. Each thread opens its own."""

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

    def backup(self, target: Path) -> None:
        """Write a copy of the file as it stands.

        Raises:
            RepertoireError: The copy could not be written, or ``target`` is there already.
        """
        if target.exists():
            raise RepertoireError(f"{shown(target)} is there already; give another name.")
        copy_file(self.path, target)

    def daily_copies(self) -> dict[date, Path]:
        """Return the copies that were kept of this file, by practice day."""
        with explained(self.path):
            return daily_copies(self.path)

    def verify(self) -> list[str]:
        """Return what is wrong with the file, a line each; empty when it is sound."""
        try:
            with self.reading():
                problems = problems_of(self.connection, self.path)
                if not problems:
                    self.tunes()
                    # Tune by tune, as a long history would fill the memory.
                    for (uuid,) in self.connection.execute("SELECT uuid FROM tunes").fetchall():
                        self.checks(uuid)
                    self.sets()
                    self.dates()
                    self.days_off()
                    self.dates_answered()
                    self.practices()
                    self.pick_ups()
                    self.heard()
                    self.sittings()
        except RepertoireError as error:
            problems = [str(error)]
        return problems

    def merge(self, other: Path) -> MergeReport:
        """Take in all that another copy of the repertoire has and this one lacks.

        Raises:
            RepertoireError: The other file is no sound repertoire, or this one cannot be written;
                nothing was changed.
        """
        return merge_into(self, other)
