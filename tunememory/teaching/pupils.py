"""Pupils' files: tunes given, how they stand, what several have in common, and the lesson."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.history import record_check_away, withdraw
from tunememory.library import adding
from tunememory.library.adding import set_status
from tunememory.library.overview import tune_rows
from tunememory.library.starts import start_views
from tunememory.music.tune import Declared, Status
from tunememory.practice.sitting import pick_up_today
from tunememory.recall.check import Level, Prompt, prompt_strands
from tunememory.recall.state import FADING, State
from tunememory.session import About, Memo, open_session
from tunememory.teaching.card import card_of, write_card
from tunememory.text import cells, clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.library.overview import TuneRow
    from tunememory.library.starts import StartView
    from tunememory.music.tune import Tune
    from tunememory.recall.check import Check
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class Given:
    """What came of giving tunes, in titles; ``had`` were there already."""

    given: tuple[str, ...]
    had: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shared:
    """What several repertoires have in common.

    Attributes:
        all_can: Titles of tunes that every one of them can start.
        all_have: Titles of the others that every one of them has.
    """

    all_can: tuple[str, ...]
    all_have: tuple[str, ...]


class Progress(StrEnum):
    """How far a pupil has come with a tune."""

    GIVEN = "given"
    """In learning, or wanted."""
    MEND = "to mend"
    """Known once and under a half now."""
    NOT_ASKED = "not asked"
    CAN_START = "can start"
    """Safe or fading: a chance of a half or more."""
    LATER = "later"
    """The rest: resting, or to mend some other week."""


@dataclass(frozen=True, slots=True)
class Table:
    """Who has which tune.

    Attributes:
        names: Of the files.
        rows: Title and, for each file, whether it is there and can be started: ``True``;
            is there: ``False``; is not: ``None``. Those most can start come first.
    """

    names: tuple[str, ...]
    rows: tuple[tuple[str, tuple[bool | None, ...]], ...]


MEND_AT_A_TIME = 6
"""Tunes to mend that are listed: who was away has no longer list than the others (common
practice, no source)."""


def give_tunes(
    session: Session, path: Path, uuids: Sequence[str], *, create: bool = False
) -> Given:
    """Give tunes with their starts to another repertoire file, there as new and in learning.

    Args:
        session: Where they come from.
        path: The other file.
        uuids: Which tunes.
        create: Make the other file when there is none.

    Raises:
        NotDoneError: A tune is gone, or the other file cannot be used; nothing was given.
    """
    tunes = [session.tune(uuid) for uuid in dict.fromkeys(uuids)]
    if path.exists() and path.samefile(session.path):
        raise NotDoneError(f"{path} is this repertoire itself: name another file")
    with open_session(path, session.clock, create=create) as other:
        had = [tune for tune in tunes if _same(other, tune) is not None]
        new = [
            replace(
                tune,
                status=Status.LEARNING,
                declared=Declared.NEW,
                favourite=False,
                added=other.day(),
            )
            for tune in tunes
            if tune not in had
        ]
        take_in(other, new)
    return Given(tuple(tune.title for tune in new), tuple(tune.title for tune in had))


def take_in(session: Session, tunes: Sequence[Tune]) -> None:
    """Add tunes of another file; one that was here and removed comes back as it is there.

    Raises:
        NotDoneError: The file cannot be written; nothing was.
    """
    removed = [tune for tune in tunes if session.repertoire.tunes.knows(tune.uuid)]
    with session.changing():
        for tune in removed:
            session.repertoire.tunes.bring_back(tune.uuid)
        session.changed(About.TUNES)
        adding.change_tunes(session, removed)
        adding.add_tunes(session, [tune for tune in tunes if tune not in removed])


def shared(paths: Sequence[Path], clock: Clock) -> Shared:
    """Return what several files have in common, in the titles of the first, by title.

    Raises:
        NotDoneError: Fewer than two files, or one cannot be used.
    """
    if len(paths) < 2:
        raise NotDoneError("name at least two repertoire files")
    common = [(title, all(marks)) for title, marks in table(paths, clock).rows if None not in marks]
    common.sort(key=lambda row: fold_title(row[0]))
    return Shared(
        tuple(title for title, can in common if can),
        tuple(title for title, can in common if not can),
    )


def table(paths: Sequence[Path], clock: Clock) -> Table:
    """Return who has which tune, in the titles of the first file that has it.

    Raises:
        NotDoneError: There is no file, or one cannot be used.
    """
    if not paths:
        raise NotDoneError("name a repertoire file")
    tunes: list[Tune] = []
    marks: dict[str, list[bool | None]] = {}
    place: dict[str, str] = {}
    for number, path in enumerate(paths):
        with open_session(path, clock, create=False) as session:
            able = {row.tune.uuid: _can_start(row) for row in tune_rows(session)}
            for tune in session.tunes.values():
                names = [tune.uuid, *map(fold_title, tune.titles)]
                known = next((place[name] for name in names if name in place), tune.uuid)
                if known not in marks:
                    tunes.append(tune)
                    marks[known] = [None] * len(paths)
                for name in names:
                    place.setdefault(name, known)
                marks[known][number] = marks[known][number] or able[tune.uuid]
    made = [(tune.title, tuple(marks[place[tune.uuid]])) for tune in tunes]
    made.sort(key=lambda row: (-row[1].count(True), -row[1].count(False), fold_title(row[0])))
    return Table(tuple(path.stem for path in paths), tuple(made))


def table_text(who: Table) -> str:
    """Return who has which tune as plain text: a column a file, numbered, its name below.

    ``●`` can start it, ``○`` has it, ``·`` has it not.
    """
    signs = {True: "●", False: "○", None: "·"}
    width = max((cells(title) for title, _ in who.rows), default=0)
    lines = [f"{'':<{width}} " + "".join(f"{n:>3}" for n in range(1, len(who.names) + 1))]
    lines += [
        title + " " * (width - cells(title) + 1) + "".join(f"{signs[mark]:>3}" for mark in marks)
        for title, marks in who.rows
    ]
    names = [f"{n:>3}  {name}" for n, name in enumerate(who.names, 1)]
    return "\n".join([*lines, "", *names, "", "● can start   ○ has it   · has it not"]) + "\n"


def by_progress(session: Session) -> dict[Progress, list[Tune]]:
    """Return the tunes of a pupil by progress, in the order a teacher looks at them.

    Given ones newest first, those to mend (``MEND_AT_A_TIME`` at most) surest first, those the
    pupil can start least sure first, the rest by title.
    """
    rows = tune_rows(session)
    found: dict[Progress, list[TuneRow]] = {progress: [] for progress in Progress}
    for row in rows:
        found[_progress(row)].append(row)
    found[Progress.GIVEN].sort(key=lambda row: -row.tune.added.toordinal())
    found[Progress.CAN_START].sort(key=lambda row: row.chance.chance)
    found[Progress.MEND].sort(key=lambda row: -row.chance.chance)
    later = {row.tune.uuid for row in found[Progress.LATER] + found[Progress.MEND][MEND_AT_A_TIME:]}
    found[Progress.LATER] = [row for row in rows if row.tune.uuid in later]
    del found[Progress.MEND][MEND_AT_A_TIME:]
    return {progress: [row.tune for row in some] for progress, some in found.items()}


def _progress(row: TuneRow) -> Progress:
    if row.tune.status in {Status.LEARNING, Status.WANTED}:
        return Progress.GIVEN
    if row.tune.status is not Status.KEPT:
        return Progress.LATER
    if row.chance.state is State.NOT_ASKED:
        return Progress.NOT_ASKED
    return Progress.CAN_START if _can_start(row) else Progress.MEND


def _can_start(row: TuneRow) -> bool:
    """Whether it is at least fading."""
    return row.chance.state is not State.NOT_ASKED and row.chance.chance >= FADING


def _same(session: Session, tune: Tune) -> Tune | None:
    """The tune of another file that is this one: by identity, else by any of its names."""
    if tune.uuid in session.tunes:
        return session.tunes[tune.uuid]
    by_name = _by_names(session)
    return next((by_name[name] for name in map(fold_title, tune.titles) if name in by_name), None)


def _by_name(session: Session) -> dict[str, Tune]:
    return {fold_title(title): tune for tune in session.tunes.values() for title in tune.titles}


_by_names = Memo(_by_name, About.TUNES)

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
            for progress, tunes in by_progress(self.session).items()
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
        given = give_tunes(teacher, self.session.path, [uuid])
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
