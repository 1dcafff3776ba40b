"""Tunes from one repertoire file to another, and what several files have in common."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.library import adding
from tunememory.library.overview import tune_rows
from tunememory.music.tune import Declared, Status
from tunememory.recall.state import FADING, State
from tunememory.session import About, Memo, open_session
from tunememory.text import cells, fold_title

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.library.overview import TuneRow
    from tunememory.music.tune import Tune
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
