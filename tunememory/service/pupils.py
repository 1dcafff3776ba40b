"""Tunes from one repertoire file to another, and what several files have in common."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.service import changes
from tunememory.service.desk import open_desk
from tunememory.service.errors import ServiceError
from tunememory.service.overview import rows
from tunememory.service.views import State
from tunememory.tunes.text import fold_title
from tunememory.tunes.tune import Declared, Status

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import TuneRow
    from tunememory.tunes.tune import Tune


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
        given: In learning, or wanted.
        can_start: Safe or fading: a chance of a half or more.
        to_mend: Known once and under a half now.
    """

    given: tuple[str, ...]
    can_start: tuple[str, ...]
    to_mend: tuple[str, ...]


CAN_START = 0.5
"""Chance from which a tune counts as one that can be started: at least fading, not rusty."""


def give(desk: OpenFile, path: Path, uuids: Sequence[str], *, create: bool = False) -> Given:
    """Give tunes with their starts to another repertoire file, there as new and in learning.

    Args:
        desk: Where they come from.
        path: The other file.
        uuids: Which tunes.
        create: Make the other file when there is none.

    Raises:
        ServiceError: A tune is gone, or the other file cannot be used; nothing was given.
    """
    tunes = [desk.tune(uuid) for uuid in dict.fromkeys(uuids)]
    if path.exists() and path.samefile(desk.path):
        raise ServiceError(f"{path} is this repertoire itself: name another file")
    with open_desk(path, desk.clock, create=create) as other:
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


def take_in(desk: OpenFile, tunes: Sequence[Tune]) -> None:
    """Add tunes of another file; one that was here and removed comes back as it is there.

    Raises:
        ServiceError: The file cannot be written; nothing was.
    """
    removed = [tune for tune in tunes if desk.repertoire.knows_tune(tune.uuid)]
    with desk.changing():
        for tune in removed:
            desk.repertoire.bring_back_tune(tune.uuid)
        desk.tunes_changed()
        changes.put(desk, removed)
        changes.add_all(desk, [tune for tune in tunes if tune not in removed])


def shared(paths: Sequence[Path], clock: Clock) -> Shared:
    """Return what several files have in common, in the titles of the first, by title.

    Raises:
        ServiceError: Fewer than two files, or one cannot be used.
    """
    if len(paths) < 2:
        raise ServiceError("name at least two repertoire files")
    common: dict[str, tuple[Tune, bool]] = {}
    for number, path in enumerate(paths):
        with open_desk(path, clock, create=False) as desk:
            able = {row.uuid for row in rows(desk) if _can_start(row)}
            if number == 0:
                order = [row.uuid for row in rows(desk)]
                common = {uuid: (desk.tune(uuid), uuid in able) for uuid in order}
                continue
            both = ((uuid, tune, can, _same(desk, tune)) for uuid, (tune, can) in common.items())
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


def page(desk: OpenFile) -> PupilPage:
    """Return one pupil's tunes by how they stand."""
    all_rows = rows(desk)
    new = {Status.LEARNING, Status.WANTED}
    kept = [row for row in all_rows if row.status is Status.KEPT]
    return PupilPage(
        given=tuple(row.title for row in all_rows if row.status in new),
        can_start=tuple(row.title for row in kept if _can_start(row)),
        to_mend=tuple(
            row.title
            for row in kept
            if row.chance.state is not State.NOT_ASKED and not _can_start(row)
        ),
    )


def _can_start(row: TuneRow) -> bool:
    return row.chance.state is not State.NOT_ASKED and row.chance.chance >= CAN_START


def _same(desk: OpenFile, tune: Tune) -> Tune | None:
    """The tune of another file that is this one: by identity, else by any of its names."""
    if tune.uuid in desk.tunes:
        return desk.tunes[tune.uuid]
    by_name = desk.kept("by name", lambda: _by_name(desk))
    return next((by_name[name] for name in map(fold_title, tune.titles) if name in by_name), None)


def _by_name(desk: OpenFile) -> dict[str, Tune]:
    return {fold_title(title): tune for tune in desk.tunes.values() for title in tune.titles}
