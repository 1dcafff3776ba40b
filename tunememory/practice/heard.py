"""What was heard in company: a line a tune, with a name or without, joined to a tune later."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.library import adding
from tunememory.library.adding import Draft
from tunememory.music.tune import Declared, Status
from tunememory.store.records import Heard, new_identity
from tunememory.text import NOTE_LIMIT, clean_text

if TYPE_CHECKING:
    from tunememory.music.tune import Tune
    from tunememory.session import OpenFile


@dataclass(frozen=True, slots=True)
class HeardView:
    """A tune heard in company; ``title`` is that of the tune it turned out to be."""

    uuid: str
    day: date
    name: str
    from_whom: str
    alike: str
    note: str
    tune: str
    title: str


def hear(
    desk: OpenFile, name: str = "", from_whom: str = "", alike: str = "", note: str = ""
) -> HeardView:
    """Write down a tune heard today; everything may be empty but not all of it.

    A name that is a title of one tune joins it to that tune.

    Raises:
        ServiceError: There is nothing to write, or the file cannot be written.
    """
    kept = _filled(Heard(new_identity(), desk.day()), name, from_whom, alike, note)
    same = adding.same_title(desk, kept.name)
    if len(same) == 1:
        kept = replace(kept, tune=same[0].uuid)
    return _save(desk, kept)


def edit(
    desk: OpenFile,
    uuid: str,
    name: str = "",
    from_whom: str = "",
    alike: str = "",
    note: str = "",
) -> HeardView:
    """Write a line anew; the tune it is joined to stays.

    Raises:
        ServiceError: It is gone, there is nothing to write, or the file cannot be written.
    """
    return _save(desk, _filled(_one(desk, uuid), name, from_whom, alike, note))


def join(desk: OpenFile, uuid: str, tune: str) -> HeardView:
    """Say which tune it was; its title becomes the name where there was none.

    Raises:
        ServiceError: The line or the tune is gone, or the file cannot be written.
    """
    kept = _one(desk, uuid)
    title = desk.tune(tune).title
    return _save(desk, replace(kept, tune=tune, name=kept.name or title))


def want(desk: OpenFile, uuid: str) -> Tune:
    """Add what was heard as a wanted tune and join the line to it.

    Raises:
        ServiceError: It has no name yet, is joined already, or the file cannot be written.
    """
    kept = _one(desk, uuid)
    if kept.tune:
        raise NotDoneError(f"that was {desk.tune(kept.tune).title}, which you have")
    if not kept.name:
        raise NotDoneError("it has no name yet: give it one first")
    draft = Draft(
        titles=(kept.name,),
        status=Status.WANTED,
        declared=Declared.NEW,
        source=kept.from_whom,
        note="\n".join(filter(None, (kept.alike and f"like {kept.alike}", kept.note))),
    )
    with desk.changing():
        tune = adding.add(desk, draft)
        _save(desk, replace(kept, tune=tune.uuid))
    return tune


def remove(desk: OpenFile, uuid: str) -> None:
    """Take a line out.

    Raises:
        ServiceError: It is gone, or the file cannot be written.
    """
    with desk.changing():
        desk.repertoire.remove_heard(uuid)


def views(
    desk: OpenFile, first_day: date | None = None, last_day: date | None = None
) -> tuple[HeardView, ...]:
    """Return what was heard from one day to another, both included, newest first."""
    found = desk.repertoire.heard(first_day or date.min, last_day or date.max)
    return tuple(view_of(desk, one) for one in reversed(found))


def view_of(desk: OpenFile, heard: Heard) -> HeardView:
    """Return a line with the title of its tune."""
    tune = desk.tunes.get(heard.tune)
    return HeardView(
        uuid=heard.uuid,
        day=heard.day,
        name=heard.name,
        from_whom=heard.from_whom,
        alike=heard.alike,
        note=heard.note,
        tune=tune.uuid if tune else "",
        title=tune.title if tune else "",
    )


def _one(desk: OpenFile, uuid: str) -> Heard:
    for heard in desk.repertoire.heard():
        if heard.uuid == uuid:
            return heard
    raise NotDoneError("that line is no longer in the journal")


def _filled(kept: Heard, name: str, from_whom: str, alike: str, note: str) -> Heard:
    filled = replace(
        kept,
        name=clean_text(name),
        from_whom=clean_text(from_whom),
        alike=clean_text(alike),
        note=clean_text(note, multiline=True, limit=NOTE_LIMIT),
    )
    if not any((filled.name, filled.from_whom, filled.alike, filled.note)):
        raise NotDoneError("write a name, or who played it, or what it was like")
    return filled


def _save(desk: OpenFile, heard: Heard) -> HeardView:
    with desk.changing():
        desk.repertoire.save_heard(heard)
    return view_of(desk, heard)
