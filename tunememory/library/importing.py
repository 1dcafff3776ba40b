"""Taking in tune books: safe to repeat, nothing lost silently, one transaction a file."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from tunememory.errors import NotDoneError
from tunememory.library.adding import Opening, add_tunes, change_tunes, opening_of
from tunememory.music.abc.books import read_book, read_one
from tunememory.music.abc.reading import ReadTune, Refusal
from tunememory.music.scores.files import SUFFIXES, read_score
from tunememory.music.tune import Declared, Status, Tune
from tunememory.store.records import ImportedRow, new_identity
from tunememory.text import clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date
    from pathlib import Path

    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class Refused:
    """Something of a file that could not be taken. ``line`` is 1-based, 0 for the whole file."""

    file: str
    line: int
    why: str


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What came of an import. ``doubtful`` holds ``(title, why)`` pairs.

    ``wanted`` is how many of those taken are only wanted: not asked until the player learns them.
    """

    taken: int = 0
    unchanged: int = 0
    changed: int = 0
    doubtful: tuple[tuple[str, str], ...] = ()
    refused: tuple[Refused, ...] = ()
    wanted: int = 0


LARGEST_BYTES = 64 * 1024 * 1024
"""A tune book larger than this is refused: the largest printed collections take 2 MB."""

MOST_KEPT = 60
"""A book of more tunes than this is taken as wanted, unless the player says otherwise."""

FROM_THE_BOOK = ("titles", "kind", "key", "metre", "starts", "source", "note")
"""Facts of a tune that a book can change."""


@dataclass(slots=True)
class _Import:
    """One import while it runs."""

    session: Session
    book: str
    file: str
    status: Status
    declared: Declared
    known: dict[tuple[str, str], ImportedRow]
    titles: dict[str, str]
    fresh: list[Tune] = field(default_factory=list)
    rows: list[ImportedRow] = field(default_factory=list)
    edited: list[Tune] = field(default_factory=list)
    unchanged: int = 0
    doubtful: list[tuple[str, str]] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)
    met: Counter[tuple[str, str]] = field(default_factory=Counter)
    silent: set[str] = field(default_factory=set)
    hashes: dict[str, ImportedRow] = field(default_factory=dict)
    openings: dict[Opening, str] = field(default_factory=dict)

    def by_hash(self, digest: str) -> ImportedRow | None:
        """What came from this very text, from any book, this import included."""
        return self.hashes.get(digest) or self.session.repertoire.imports.by_hash(digest)


def import_file(
    session: Session,
    path: Path,
    progress: Callable[[int, int], None],
    status: Status | None = None,
    declared: Declared = Declared.KNOWN,
) -> ImportReport:
    """Read a tune book (ABC) or a score (MusicXML, MIDI) into the repertoire.

    Args:
        session: The open repertoire.
        path: The file.
        progress: Told the tunes done and the tunes in all; may raise to break off, then nothing
            of the file is kept.
        status: Of tunes that come in anew and do not say; ``None`` is kept, or wanted when more
            than ``MOST_KEPT`` come in at once: nobody plays a whole printed collection.
        declared: How well such tunes are known.

    Raises:
        NotDoneError: The file cannot be read, or the repertoire cannot be written; nothing of
            it was kept.
    """
    total, tunes, notes = _tunes_in(path, progress)
    run = _Import(
        session=session,
        book=path.name,
        file=str(path),
        status=status or Status.KEPT,
        declared=declared,
        known=session.repertoire.imports.of_book(path.name),
        titles={
            fold_title(title): tune.uuid for tune in session.tunes.values() for title in tune.titles
        },
        openings={
            opening: tune.title for tune in session.tunes.values() if (opening := opening_of(tune))
        },
    )
    run.doubtful.extend((path.name, note) for note in notes)
    for done, read in enumerate(tunes, start=1):
        if isinstance(read, Refusal):
            run.refused.append(Refused(str(path), read.line, read.why))
        else:
            _take(run, read)
        progress(done, total)
    if status is None and len(run.fresh) > MOST_KEPT:
        run.fresh = [
            replace(tune, status=Status.WANTED) if tune.uuid in run.silent else tune
            for tune in run.fresh
        ]
    if run.fresh or run.edited or run.rows:
        _write(run)
    return ImportReport(
        taken=len(run.fresh),
        unchanged=run.unchanged,
        changed=len(run.edited),
        doubtful=tuple(run.doubtful),
        refused=tuple(run.refused),
        wanted=sum(tune.status is Status.WANTED for tune in run.fresh),
    )


def _tunes_in(
    path: Path, progress: Callable[[int, int], None]
) -> tuple[int, Iterable[ReadTune | Refusal], tuple[str, ...]]:
    """Return how many tunes a file holds, those in turn, and what is to be said of the file."""
    data = read_bytes(path)
    if path.suffix.lower() in SUFFIXES:
        return 1, (read_score(path, progress) for _ in range(1)), ()
    return read_book(data)


def read_bytes(path: Path) -> bytes:
    """Return what is in a file.

    Raises:
        NotDoneError: It is not there, not a file, too large or not to be read.
    """
    shown = clean_text(str(path))
    try:
        if path.is_dir():
            raise NotDoneError(f"{shown} is a folder: name a tune book in it")
        if path.stat().st_size > LARGEST_BYTES:
            raise NotDoneError(f"{shown} is larger than 64 MB: split it into smaller books")
        return path.read_bytes()
    except OSError as error:
        raise NotDoneError(f"{shown}: {(error.strerror or 'cannot be read').lower()}") from error


def joined(one: ImportReport, other: ImportReport) -> ImportReport:
    """Return two reports as one."""
    return ImportReport(
        taken=one.taken + other.taken,
        unchanged=one.unchanged + other.unchanged,
        changed=one.changed + other.changed,
        doubtful=one.doubtful + other.doubtful,
        refused=one.refused + other.refused,
        wanted=one.wanted + other.wanted,
    )


def _take(run: _Import, read: ReadTune) -> None:
    title = read.titles[0] if read.titles else f"no name yet (X:{read.reference})"
    run.doubtful.extend((title, why) for why in read.doubts)
    digest = hashlib.sha256(read.abc.encode()).hexdigest()
    place = _place(run, read)
    row = run.by_hash(digest) or run.known.get(place)
    if row is not None and (row.hash == digest or row.removed):
        run.unchanged += 1
        _remember(run, row.tune, place, read, digest)
    elif row is not None and row.tune in run.session.tunes:
        _change(run, run.session.tunes[row.tune], _differences(read, read_one(row.raw)))
        _remember(run, row.tune, place, read, digest)
    elif read.facts.uuid in run.session.tunes:
        old = run.session.tunes[read.facts.uuid]
        new = _tune(run, read)
        _change(run, old, {} if new == old else _all_facts(new))
        _remember(run, old.uuid, place, read, digest)
    else:
        _add(run, read, title)
        _remember(run, run.fresh[-1].uuid, place, read, digest)


def _place(run: _Import, read: ReadTune) -> tuple[str, str]:
    """Number and folded title; a book that has both twice counts them."""
    place = (read.reference, fold_title(read.titles[0]) if read.titles else "")
    run.met[place] += 1
    times = run.met[place]
    return place if times == 1 else (f"{place[0]} ({times})", place[1])


def _add(run: _Import, read: ReadTune, title: str) -> None:
    tune = _tune(run, read)
    met = next((name for name in read.titles if fold_title(name) in run.titles), None)
    if met is not None:
        this = "this name" if met == title else f"the name {met}"
        run.doubtful.append((title, f"you have a tune of {this} already; both are kept"))
    elif (same := opening_of(tune)) and same in run.openings:
        run.doubtful.append(
            (title, f"you have this as {run.openings[same]}, it seems; both are kept")
        )
    for other in tune.titles:
        run.titles.setdefault(fold_title(other), tune.uuid)
    if opening := opening_of(tune):
        run.openings.setdefault(opening, tune.title)
    run.fresh.append(tune)
    if read.facts.status is None:
        run.silent.add(tune.uuid)


def tune_read(read: ReadTune, status: Status, declared: Declared, added: date) -> Tune:
    """Return a tune read from a book as a tune of the repertoire.

    Args:
        read: As it stands in the book.
        status: Where the book does not say.
        declared: How well it is known, where the book does not say.
        added: Practice day it came in.
    """
    facts = read.facts
    return Tune(
        uuid=facts.uuid or new_identity(),
        titles=read.titles,
        kind=read.kind,
        key=read.key,
        metre=read.metre,
        tuning=facts.tuning,
        status=facts.status or status,
        starts=read.starts,
        declared=facts.declared or declared,
        source=read.source,
        note=read.note,
        favourite=facts.favourite,
        added=added,
    )


def _tune(run: _Import, read: ReadTune) -> Tune:
    return tune_read(read, run.status, run.declared, read.facts.added or run.session.day())


def _change(run: _Import, old: Tune, changes: dict[str, Any]) -> None:
    new = replace(old, **changes)
    if new == old:
        run.unchanged += 1
    else:
        run.edited.append(new)


def _differences(new: ReadTune, old: ReadTune | Refusal) -> dict[str, Any]:
    """What the book says otherwise than it did: the player's own edits are left alone."""
    return {
        name: getattr(new, name)
        for name in FROM_THE_BOOK
        if isinstance(old, Refusal) or getattr(new, name) != getattr(old, name)
    }


def _all_facts(tune: Tune) -> dict[str, Any]:
    names = (*FROM_THE_BOOK, "tuning", "status", "declared", "favourite")
    return {name: getattr(tune, name) for name in names}


def _remember(run: _Import, tune: str, place: tuple[str, str], read: ReadTune, digest: str) -> None:
    row = ImportedRow(tune, run.book, place[0], place[1], read.abc, digest)
    run.hashes[digest] = row
    if run.known.get(place) != row:
        run.known[place] = row
        run.rows.append(row)


def _write(run: _Import) -> None:
    with run.session.changing():
        if run.fresh:
            add_tunes(run.session, run.fresh)
        if run.edited:
            change_tunes(run.session, run.edited)
        for row in run.rows:
            run.session.repertoire.imports.save(row)
