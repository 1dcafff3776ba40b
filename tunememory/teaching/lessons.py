"""A teacher's lessons: each pupil has a repertoire file of their own, beside the teacher's."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.history.recording import record_check_away, withdraw
from tunememory.library.adding import set_status
from tunememory.library.starts import start_views
from tunememory.music.tune import Status
from tunememory.practice.sitting import pick_up_today
from tunememory.recall.check import Level, Prompt, prompt_strands
from tunememory.session import open_session
from tunememory.teaching import pupils
from tunememory.teaching.card import card_of, write_card
from tunememory.teaching.pupils import Progress
from tunememory.text import clean_text

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.library.starts import StartView
    from tunememory.music.tune import Tune
    from tunememory.recall.check import Check
    from tunememory.session import Session
    from tunememory.teaching.pupils import Given


ENDING = ".tunes"
"""What the name of a repertoire file ends in."""

_UNFIT = re.compile(r'[/\\:*?"<>|]')


@dataclass(frozen=True, slots=True)
class LessonRow:
    """A tune of a pupil.

    Attributes:
        tune: The tune, there since the day it was given.
        progress: Given, to mend, can start, or for later.
        starts: Every start, in every form.
        marked: How it came in this lesson; ``None`` when it was not asked.
    """

    tune: Tune
    progress: Progress
    starts: tuple[StartView, ...]
    marked: Level | None


def files_beside(path: Path) -> tuple[Path, ...]:
    """Return the other repertoire files in the folder of one, by name.

    Raises:
        NotDoneError: The folder cannot be read.
    """
    try:
        found = [other for other in path.parent.glob(f"*{ENDING}") if other.is_file()]
    except OSError as error:
        raise NotDoneError(f"{path.parent}: cannot be read") from error
    others = (other for other in found if other.resolve() != path.resolve())
    return tuple(sorted(others, key=lambda other: (other.stem.casefold(), other.stem)))


def file_for(path: Path, name: str) -> Path:
    """Return the file of a new pupil beside the one at ``path``.

    Raises:
        NotDoneError: There is no name, no file can be called that, or it is there already.
    """
    plain = clean_text(name)
    if not plain or plain.startswith(".") or _UNFIT.search(plain):
        raise NotDoneError("give a name that a file can have: letters, digits, blanks")
    made = path.with_name(plain if plain.endswith(ENDING) else plain + ENDING)
    if made.exists():
        raise NotDoneError(f"{made.stem} is there already")
    return made


class Lesson:
    """One pupil's file, open for a lesson. Its session is to be closed afterwards.

    Args:
        path: The pupil's file.
        clock: Where the time comes from.
        create: Make the file when there is none.

    Raises:
        NotDoneError: The file cannot be used.
    """

    def __init__(self, path: Path, clock: Clock, *, create: bool = False) -> None:
        self.name = path.stem
        self.session: Session = open_session(path, clock, create=create)
        self._checks: list[Check] = []

    def rows(self) -> tuple[LessonRow, ...]:
        """Return the pupil's tunes: given ones newest first, to mend, can start, for later."""
        if self.session.changed_elsewhere():
            self.session.reload()
        marks = {check.tune: min(level for _, level in check.levels) for check in self._checks}
        settings = self.session.settings
        return tuple(
            LessonRow(tune, progress, start_views(tune, settings), marks.get(tune.uuid))
            for progress, tunes in pupils.by_progress(self.session).items()
            for tune in tunes
        )

    def line(self) -> tuple[str, date | None]:
        """Return what was written down for this lesson, and when; empty if nothing was."""
        kept = self.session.repertoire.pick_ups.last(self.session.day())
        return (kept[1], kept[0]) if kept else ("", None)

    def next_line(self) -> str:
        """Return what is written down for the next lesson."""
        return pick_up_today(self.session)

    def mark(self, uuid: str, level: Level) -> None:
        """Write down how a tune came, every start of it.

        Raises:
            NotDoneError: The tune is gone, or the file cannot be written.
        """
        tune = self.session.tune(uuid)
        if tune.status is Status.WANTED:
            set_status(self.session, uuid, Status.LEARNING)
            tune = self.session.tune(uuid)
        strands = prompt_strands(tune, Prompt.HOW)
        if not strands:
            raise NotDoneError(f"{tune.title} cannot be asked: it has no name yet")
        levels = dict.fromkeys(strands, level)
        self._checks.append(record_check_away(self.session, uuid, levels, self.session.now()))

    def undo(self) -> str:
        """Take the last mark back; return the tune's title, empty when there is no mark.

        Raises:
            NotDoneError: The file cannot be written.
        """
        if not self._checks:
            return ""
        check = self._checks[-1]
        withdraw(self.session, check)
        self._checks.pop()
        return self.session.tune(check.tune).title

    def give(self, teacher: Session, uuid: str) -> Given:
        """Give the pupil a tune of the teacher's.

        Raises:
            NotDoneError: The tune is gone, or the file cannot be written.
        """
        given = pupils.give_tunes(teacher, self.session.path, [uuid])
        self.session.reload()
        return given

    def write_slip(self, path: Path) -> int:
        """Write a slip of paper for the pupil, ``.html`` for the printer or ``.txt``.

        On it are the tunes that were given, those to mend and those asked in this lesson.

        Returns:
            How many tunes are on it.

        Raises:
            NotDoneError: There is no tune to put on it, the name of the file says neither, or
                it cannot be written.
        """
        first = {Progress.GIVEN, Progress.MEND}
        uuids = [row.tune.uuid for row in self.rows() if row.progress in first or row.marked]
        heading = " · ".join(filter(None, (self.name, self.next_line())))
        write_card(card_of(self.session, heading, uuids), path)
        return len(uuids)
