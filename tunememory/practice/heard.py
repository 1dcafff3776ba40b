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
    from tunememory.session import Session


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


def write_heard(
    session: Session, name: str = "", from_whom: str = "", alike: str = "", note: str = ""
) -> HeardView:
    """Write down a tune heard today; everything may be empty but not all of it.

    A name that is a title of one tune joins it to that tune.

    Raises:
        NotDoneError: There is nothing to write, or the file cannot be written.
    """
    kept = _filled(Heard(new_identity(), session.day()), name, from_whom, alike, note)
    same = adding.same_title(session, kept.name)
    if len(same) == 1:
        kept = replace(kept, tune=same[0].uuid)
    return _save(session, kept)


def edit_heard(
    session: Session,
    uuid: str,
    name: str = "",
    from_whom: str = "",
    alike: str = "",
    note: str = "",
) -> HeardView:
    """Write a line anew; the tune it is joined to stays.

    Raises:
        NotDoneError: It is gone, there is nothing to write, or the file cannot be written.
    """
    return _save(session, _filled(_one(session, uuid), name, from_whom, alike, note))


def join_heard(session: Session, uuid: str, tune: str) -> HeardView:
    """Say which tune it was; its title becomes the name where there was none.

    Raises:
        NotDoneError: The line or the tune is gone, or the file cannot be written.
    """
    kept = _one(session, uuid)
    title = session.tune(tune).title
    return _save(session, replace(kept, tune=tune, name=kept.name or title))


def want_heard(session: Session, uuid: str) -> Tune:
    """Add what was heard as a wanted tune and join the line to it.

    Raises:
        NotDoneError: It has no name yet, is joined already, or the file cannot be written.
    """
    kept = _one(session, uuid)
    if kept.tune:
        raise NotDoneError(f"that was {session.tune(kept.tune).title}, which you have")
    if not kept.name:
        raise NotDoneError("it has no name yet: give it one first")
    draft = Draft(
        titles=(kept.name,),
        status=Status.WANTED,
        declared=Declared.NEW,
        source=kept.from_whom,
        note="\n".join(filter(None, (kept.alike and f"like {kept.alike}", kept.note))),
    )
    with session.changing():
        tune = adding.add_tune(session, draft)
        _save(session, replace(kept, tune=tune.uuid))
    return tune


def remove_heard(session: Session, uuid: str) -> None:
    """Take a line out.

    Raises:
        NotDoneError: It is gone, or the file cannot be written.
    """
    with session.changing():
        session.repertoire.heard.remove(uuid)


def all_heard(
    session: Session, first_day: date | None = None, last_day: date | None = None
) -> tuple[HeardView, ...]:
    """Return what was heard from one day to another, both included, newest first."""
    found = session.repertoire.heard.all(first_day or date.min, last_day or date.max)
    return tuple(view_of(session, one) for one in reversed(found))


def view_of(session: Session, heard: Heard) -> HeardView:
    """Return a line with the title of its tune."""
    tune = session.tunes.get(heard.tune)
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


def _one(session: Session, uuid: str) -> Heard:
    for heard in session.repertoire.heard.all():
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


def _save(session: Session, heard: Heard) -> HeardView:
    with session.changing():
        session.repertoire.heard.save(heard)
    return view_of(session, heard)
