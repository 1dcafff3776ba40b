"""What was heard in company: a line a tune, with a name or without, joined to a tune later."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
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


NO_NAME = "no name yet"
"""What a tune heard is called until it has a name."""


@dataclass(frozen=True, slots=True)
class HeardTune(Heard):
    """A tune heard in company, with the title of the tune it turned out to be."""

    title: str = ""


def write_heard(
    session: Session, name: str = "", from_whom: str = "", alike: str = "", note: str = ""
) -> HeardTune:
    """Write down a tune heard today; everything may be empty but not all of it.

    A name that is a title of one tune joins it to that tune.

    Raises:
        NotDoneError: There is nothing to write, or the file cannot be written.
    """
    heard = _filled(Heard(new_identity(), session.day()), name, from_whom, alike, note)
    same = adding.same_title(session, heard.name)
    if len(same) == 1:
        heard = replace(heard, tune=same[0].uuid)
    return _save(session, heard)


def edit_heard(
    session: Session,
    uuid: str,
    name: str = "",
    from_whom: str = "",
    alike: str = "",
    note: str = "",
) -> HeardTune:
    """Write a line anew; the tune it is joined to stays.

    Raises:
        NotDoneError: It is gone, there is nothing to write, or the file cannot be written.
    """
    return _save(session, _filled(_one(session, uuid), name, from_whom, alike, note))


def join_heard(session: Session, uuid: str, tune: str) -> HeardTune:
    """Say which tune it was; its title becomes the name where there was none.

    Raises:
        NotDoneError: The line or the tune is gone, or the file cannot be written.
    """
    heard = _one(session, uuid)
    title = session.tune(tune).title
    return _save(session, replace(heard, tune=tune, name=heard.name or title))


def want_heard(session: Session, uuid: str) -> Tune:
    """Add what was heard as a wanted tune and join the line to it.

    Raises:
        NotDoneError: It has no name yet, is joined already, or the file cannot be written.
    """
    heard = _one(session, uuid)
    if heard.tune:
        raise NotDoneError(f"that was {session.tune(heard.tune).title}, which you have")
    if not heard.name:
        raise NotDoneError("it has no name yet: give it one first")
    draft = Draft(
        titles=(heard.name,),
        status=Status.WANTED,
        declared=Declared.NEW,
        source=heard.from_whom,
        note="\n".join(filter(None, (heard.alike and f"like {heard.alike}", heard.note))),
    )
    with session.changing():
        tune = adding.add_tune(session, draft)
        _save(session, replace(heard, tune=tune.uuid))
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
) -> tuple[HeardTune, ...]:
    """Return what was heard from one day to another, both included, newest first."""
    found = session.repertoire.heard.all(first_day or date.min, last_day or date.max)
    return tuple(titled(session, one) for one in reversed(found))


def titled(session: Session, heard: Heard) -> HeardTune:
    """Return a line with the title of its tune."""
    tune = session.tunes.get(heard.tune)
    return HeardTune(**{**asdict(heard), "title": tune.title if tune else ""})


def heard_facts(heard: HeardTune) -> list[str]:
    """Say what is known of a tune heard, its name aside, fact by fact."""
    facts = (
        heard.from_whom and f"from {heard.from_whom}",
        heard.alike and f"like {heard.alike}",
        " ".join(heard.note.split()),
        f"that was {heard.title}" if heard.title not in {"", heard.name} else "",
    )
    return [fact for fact in facts if fact]


def _one(session: Session, uuid: str) -> Heard:
    for heard in session.repertoire.heard.all():
        if heard.uuid == uuid:
            return heard
    raise NotDoneError("that line is no longer in the journal")


def _filled(heard: Heard, name: str, from_whom: str, alike: str, note: str) -> Heard:
    filled = replace(
        heard,
        name=clean_text(name),
        from_whom=clean_text(from_whom),
        alike=clean_text(alike),
        note=clean_text(note, multiline=True, limit=NOTE_LIMIT),
    )
    if not any((filled.name, filled.from_whom, filled.alike, filled.note)):
        raise NotDoneError("write a name, or who played it, or what it was like")
    return filled


def _save(session: Session, heard: Heard) -> HeardTune:
    with session.changing():
        session.repertoire.heard.save(heard)
    return titled(session, heard)
