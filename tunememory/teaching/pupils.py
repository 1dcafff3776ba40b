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


@dataclass(frozen=True, slots=True)
class PupilPage:
    """One pupil's file for the teacher, in titles.

    Attributes:
        given: In learning, or wanted; the newest first.
        can_start: Safe or fading: a chance of a half or more; the least sure first.
        to_mend: Known once and under a half now, the surest first; ``MEND_AT_A_TIME`` at most.
        later: The rest: never asked, resting, or to mend some other week.
    """

    given: tuple[str, ...]
    can_start: tuple[str, ...]
    to_mend: tuple[str, ...]
    later: tuple[str, ...] = ()


class Standing(StrEnum):
    """How a pupil stands to a tune."""

    GIVEN = "given"
    MEND = "to mend"
    NOT_ASKED = "not asked"
    CAN_START = "can start"
    LATER = "later"


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
        adding.put(session, removed)
        adding.add_all(session, [tune for tune in tunes if tune not in removed])


def shared(paths: Sequence[Path], clock: Clock) -> Shared:
    """Return what several files have in common, in the titles of the first, by title.

    Raises:
        NotDoneError: Fewer than two files, or one cannot be used.
    """
    if len(paths) < 2:
        raise NotDoneError("name at least two repertoire files")
    common: dict[str, tuple[Tune, bool]] = {}
    for number, path in enumerate(paths):
        with open_session(path, clock, create=False) as session:
            able = {row.tune.uuid for row in tune_rows(session) if _can_start(row)}
            if number == 0:
                order = [row.tune.uuid for row in tune_rows(session)]
                common = {uuid: (session.tune(uuid), uuid in able) for uuid in order}
                continue
            both = ((uuid, tune, can, _same(session, tune)) for uuid, (tune, can) in common.items())
            common = {
                uuid: (tune, can and own.uuid in able)
                for uuid, tune, can, own in both
                if own is not None
            }
    titles = [(tune.title, can) for tune, can in common.values()]
    return Shared(
        tuple(title for title, can in titles if can),
        tuple(title for title, can in titles if not can),
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


def pupil_page(session: Session) -> PupilPage:
    """Return one pupil's tunes by how they stand."""
    titles = {
        standing: tuple(row.tune.title for row in group)
        for standing, group in sorted_out(session).items()
    }
    return PupilPage(
        given=titles[Standing.GIVEN],
        can_start=titles[Standing.CAN_START],
        to_mend=titles[Standing.MEND],
        later=(*titles[Standing.NOT_ASKED], *titles[Standing.LATER]),
    )


def sorted_out(session: Session) -> dict[Standing, list[TuneRow]]:
    """Return the tunes of a pupil by how they stand, in the order a teacher looks at them."""
    all_rows = tune_rows(session)
    new = {Status.LEARNING, Status.WANTED}
    kept = [row for row in all_rows if row.tune.status is Status.KEPT]
    asked = [row for row in kept if row.chance.state is not State.NOT_ASKED]
    lost = sorted((row for row in asked if not _can_start(row)), key=lambda r: -r.chance.chance)
    mend = lost[:MEND_AT_A_TIME]
    able = sorted((row for row in asked if _can_start(row)), key=lambda row: row.chance.chance)
    unasked = [row for row in kept if row.chance.state is State.NOT_ASKED]
    given = [row for row in all_rows if row.tune.status in new]
    given.sort(key=lambda row: -row.tune.added.toordinal())
    listed = {row.tune.uuid for row in (*given, *mend, *unasked, *able)}
    return {
        Standing.GIVEN: given,
        Standing.MEND: mend,
        Standing.NOT_ASKED: unasked,
        Standing.CAN_START: able,
        Standing.LATER: [row for row in all_rows if row.tune.uuid not in listed],
    }


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
