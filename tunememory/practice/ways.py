"""Ways of working on a tune, and writing down what was done."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.errors import NotDoneError
from tunememory.history import record_practice, withdraw_practice
from tunememory.library.exporting import write_form
from tunememory.library.overview import rows_of
from tunememory.music.abc.books import read_melody
from tunememory.music.ways.material import Subject
from tunememory.music.ways.registry import WAYS, material, next_way
from tunememory.paper import sheet_html, sheet_text
from tunememory.practice.sitting import checked_minutes
from tunememory.recall.check import Practice
from tunememory.rounds.running import sitting_of
from tunememory.store.records import new_identity
from tunememory.text import NOTE_LIMIT, clean_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date, datetime
    from pathlib import Path

    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Tune
    from tunememory.music.ways.material import Material
    from tunememory.music.ways.registry import Way
    from tunememory.session import Session


class TuneWay(NamedTuple):
    """A way of working on one tune.

    Attributes:
        tune: The tune.
        way: The way.
        material: What it brings for the tune; it says so where that is nothing.
        done: Days on which it was done, oldest first.
        next: It is the one to offer now.
    """

    tune: Tune
    way: Way
    material: Material
    done: tuple[date, ...] = ()
    next: bool = False


def ways_of(session: Session, uuid: str) -> tuple[TuneWay, ...]:
    """Return every way of working on a tune, when each was done, and which to offer now.

    Raises:
        NotDoneError: The tune is gone.
    """
    tune = session.tune(uuid)
    materials = _materials(session, tune, WAYS)
    practices = session.repertoire.practices.all(uuid)
    possible = [way for way, made in materials.items() if made.possible]
    offered = next_way([entry.way for entry in practices], possible) if possible else ""
    return tuple(
        TuneWay(
            tune=tune,
            way=way,
            material=materials[way.id],
            done=tuple(dict.fromkeys(entry.day for entry in practices if entry.way == way.id)),
            next=way.id == offered,
        )
        for way in WAYS.values()
    )


def material_of(session: Session, uuid: str, way: str) -> Material:
    """Return the material of one way for a tune.

    Raises:
        NotDoneError: The tune is gone, or there is no such way.
    """
    tune = session.tune(uuid)
    if way not in WAYS:
        raise _no_way(way)
    return _materials(session, tune, (way,))[way]


def write_way(session: Session, path: Path, uuid: str, way: str) -> None:
    """Write what a way brings to a file, ``.html`` for the printer or ``.txt`` by its name.

    Raises:
        NotDoneError: The tune is gone, there is no such way or nothing in it, the name of the
            file says neither, or it cannot be written.
    """
    tune, made = session.tune(uuid), material_of(session, uuid, way)
    if not made.possible:
        raise NotDoneError(made.caution)
    facts = [tune.key_name, tune.kind, _tuning(session, tune).letters]
    about = [", ".join(filter(None, facts)), WAYS[way].purpose, made.caution]
    heading = f"{tune.title}: {made.heading[:1].lower()}{made.heading[1:]}"
    sheet = heading, [*filter(None, about)], made.lines
    write_form(path, {".html": lambda: sheet_html(*sheet), ".txt": lambda: sheet_text(*sheet)})


def way_named(text: str) -> str:
    """Return the id of a way given by its id or name, empty when there is none such."""
    plain = clean_text(text).casefold()
    for way in WAYS.values():
        if plain in {way.id, way.name.casefold()}:
            return way.id
    return ""


def log_practice(
    session: Session,
    uuid: str,
    way: str = "",
    minutes: float = 0.0,
    *,
    words: str = "",
    head_only: bool | None = None,
    at: datetime | None = None,
) -> Practice:
    """Write down practice of a tune.

    Args:
        session: The open repertoire.
        uuid: The tune.
        way: Id or name of a way, empty for none.
        minutes: How long, 0 when nobody looked at the clock.
        words: What was done, in the player's words.
        head_only: Without the instrument; ``None`` is as the sitting is held.
        at: When it ended; now if not given.

    Raises:
        NotDoneError: The tune is gone, there is no such way, the moment lies in the future, the
            minutes make no sense, or the file cannot be written.
    """
    tune = session.tune(uuid)
    moment = at or session.now()
    if moment > session.now():
        raise NotDoneError("practice cannot lie in the future: give the time it ended")
    way_id = way_named(way)
    if way and not way_id:
        raise _no_way(way)
    entry = Practice(
        uuid=new_identity(),
        at=moment,
        day=session.day_of(moment),
        minutes=checked_minutes(minutes),
        tune=tune.uuid,
        way=way_id,
        words=clean_text(words, multiline=True, limit=NOTE_LIMIT),
        head_only=sitting_of(session).head_only if head_only is None else head_only,
    )
    record_practice(session, entry)
    return entry


def undo_practice(session: Session, uuid: str) -> None:
    """Take back a practice entry.

    Raises:
        NotDoneError: There is no such entry, or the file cannot be written.
    """
    for entry in session.repertoire.practices.all():
        if entry.uuid == uuid:
            withdraw_practice(session, entry)
            return
    raise NotDoneError("that entry is no longer in the journal")


def _no_way(way: str) -> NotDoneError:
    return NotDoneError(f"“{clean_text(way)}” is not a way: {', '.join(WAYS)}")


def _tuning(session: Session, tune: Tune) -> Tuning:
    return tune.tuning or session.settings.usual


def _materials(session: Session, tune: Tune, ways: Iterable[str]) -> dict[str, Material]:
    """What ways bring, by their ids. The whole tune is known where it came from a tune book."""
    text = session.repertoire.imports.text_of(tune.uuid)
    melody = read_melody(text) if text else ()
    subject = Subject(tune, _tuning(session, tune), melody, _others(session, tune))
    return {way: material(way, subject) for way in ways}


def _others(session: Session, tune: Tune) -> tuple[Tune, ...]:
    """The other tunes on its root, the surest first."""
    if tune.key is None:
        return ()
    root = tune.key.root_class
    same = [
        t.uuid for t in session.active() if t.key and t.key.root_class == root and t is not tune
    ]
    rows = sorted(rows_of(session, same), key=lambda row: -row.chance.chance)
    return tuple(row.tune for row in rows)
