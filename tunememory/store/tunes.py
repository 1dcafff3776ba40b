"""Tunes, with their titles and starts."""

from __future__ import annotations

import re
from collections import defaultdict
from datetime import date
from fractions import Fraction
from functools import cache, lru_cache
from json import dumps
from typing import TYPE_CHECKING, Any

from tunememory.music.key import Key
from tunememory.music.pitch import Note, Pitch
from tunememory.music.strings import Tuning
from tunememory.music.tune import Declared, Start, Status, Tune
from tunememory.store.connection import Rows, cleaned, stamp
from tunememory.store.records import ImportedRow, TwinRow
from tunememory.text import NOTE_LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


_NOTE = re.compile(r"([A-G])(##?|bb?|)(-?[0-9]+):([0-9]+(?:/[0-9]+)?)")
_CHANGE = re.compile(r"([A-G])(-?[0-9])")
_SIGNS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}
_ALTERS = {signs: alter for alter, signs in _SIGNS.items()}


def write_notes(notes: Iterable[Note]) -> str:
    """Return notes as the text the file keeps.

    Raises:
        ValueError: A note has no length, or an accidental beyond a double one.
    """
    return " ".join(map(_write_note, notes))


@lru_cache(maxsize=4096)
def _write_note(note: Note) -> str:
    pitch = note.pitch
    text = f"{pitch.letter}{_SIGNS.get(pitch.alter, '?')}{pitch.octave}:{note.quarters}"
    # What could not be read back would make the whole repertoire unreadable.
    _read_note(text)
    return text


def read_notes(text: str) -> tuple[Note, ...]:
    """Return the notes of a kept text.

    Raises:
        ValueError: A note cannot be read.
    """
    return tuple(map(_NOTES.__getitem__, text.split()))


def _read_note(text: str) -> Note:
    match = _NOTE.fullmatch(text)
    if match is None:
        raise ValueError(f"not a note: {text}")
    letter, signs, octave, length = match.groups()
    quarters = read_length(length)
    if quarters <= 0:
        raise ValueError(f"a note without length: {text}")
    return Note(Pitch(int(octave), letter, _ALTERS[signs]), quarters)


class _Notes(dict[str, Note]):
    """Notes by their text; a plain lookup, as a large repertoire makes two hundred thousand."""

    def __missing__(self, text: str) -> Note:
        self[text] = note = _read_note(text)
        return note


_NOTES = _Notes()


@lru_cache(maxsize=1024)
def read_length(text: str) -> Fraction:
    """Return a length in quarter notes from ``"1"`` or ``"3/2"``.

    Raises:
        ValueError: It is not such a length.
    """
    try:
        return Fraction(text)
    except ZeroDivisionError as error:
        raise ValueError(f"not a length: {text}") from error


def key_columns(key: Key | None) -> tuple[str | None, str | None, str]:
    """Return root, mode and changes (``"C0 F1"``) of a key as they are kept.

    Raises:
        ValueError: The changes are not of letters A to G.
    """
    if key is None:
        return None, None, ""
    changes = " ".join(f"{letter}{alter}" for letter, alter in key.changes)
    read_key(key.root, key.mode, changes)
    return key.root, key.mode, changes


@cache
def read_key(root: str | None, mode: str | None, changes: str) -> Key | None:
    """Return the key of the three kept columns; equal keys are one object.

    Raises:
        ValueError: The changes cannot be read.
    """
    if root is None or mode is None:
        return None
    pairs: list[tuple[str, int]] = []
    for word in changes.split():
        match = _CHANGE.fullmatch(word)
        if match is None:
            raise ValueError(f"not a change of a key: {word}")
        pairs.append((match[1], int(match[2])))
    return Key(root, mode, tuple(pairs))


def write_tuning(tuning: Tuning | None) -> str:
    """Return a tuning as it is kept: MIDI numbers, low string first; empty for the usual one."""
    return "" if tuning is None else " ".join(map(str, tuning.strings))


@cache
def read_tuning(text: str) -> Tuning | None:
    """Return the tuning of a kept text.

    Raises:
        ValueError: It is not a list of whole numbers.
    """
    return Tuning(tuple(map(int, text.split()))) if text else None


_TUNES = (
    "SELECT tune_id, uuid, kind, root, mode, key_changes, metre, tuning, status, declared, source,"
    " note, favourite, added FROM tunes"
)
_TITLES = "SELECT tune_id, title FROM titles"
_STARTS = "SELECT tune_id, part, notes, pickup, written, root, mode, key_changes, doubt FROM starts"
_word = lru_cache(maxsize=2048)(cleaned)  # few different ones in a repertoire
_STATUSES = {status.value: status for status in Status}
_DECLARED = {declared.value: declared for declared in Declared}


class TuneRows(Rows):
    """The repertoire's tunes. Removed tunes are kept out of sight for history and merging."""

    def all(self) -> list[Tune]:
        """Return every tune, in the order they came in."""
        with self.reading():
            execute = self.execute
            return _assemble(
                execute(_TUNES + " WHERE removed_at IS NULL ORDER BY tune_id").fetchall(),
                execute(_TITLES + " ORDER BY tune_id, place").fetchall(),
                execute(_STARTS + " ORDER BY tune_id, place").fetchall(),
            )

    def knows(self, uuid: str) -> bool:
        """Whether the file has, or had and removed, a tune of this identity."""
        with self.reading():
            find = "SELECT EXISTS (SELECT 1 FROM tunes WHERE uuid = ?)"
            return bool(self.execute(find, (uuid,)).fetchone()[0])

    def get(self, uuid: str) -> Tune:
        """Return one tune.

        Raises:
            Unknown: There is no such tune, or it was removed.
        """
        with self.reading():
            execute = self.execute
            rows = execute(_TUNES + " WHERE uuid = ? AND removed_at IS NULL", (uuid,)).fetchall()
            if not rows:
                raise self.file.unknown("tune", uuid)
            only = " WHERE tune_id = ? ORDER BY place"
            number = rows[0][:1]
            return _assemble(
                rows,
                execute(_TITLES + only, number).fetchall(),
                execute(_STARTS + only, number).fetchall(),
            )[0]

    def add(self, tunes: Iterable[Tune]) -> None:
        """Add tunes, all or none.

        Raises:
            RepertoireError: One of them is in the file already, or breaks a rule of the file.
        """
        with self.writing():
            edited_at = stamp(self.file.clock.now())
            for tune in tunes:
                cursor = self.execute(
                    "INSERT INTO tunes (kind, root, mode, key_changes, metre, tuning, status,"
                    " declared, source, note, favourite, added, edited_at, uuid)"
                    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    (*_columns(tune), edited_at, tune.uuid),
                )
                self._insert_lines(int(cursor.lastrowid or 0), tune)

    def update(self, tune: Tune) -> None:
        """Replace what is kept of a tune.

        Raises:
            Unknown: There is no such tune, or it was removed.
        """
        with self.writing():
            number = self._edit(tune.uuid)
            self.execute(
                "UPDATE tunes SET kind = ?, root = ?, mode = ?, key_changes = ?, metre = ?,"
                " tuning = ?, status = ?, declared = ?, source = ?, note = ?, favourite = ?,"
                " added = ? WHERE tune_id = ?",
                (*_columns(tune), number),
            )
            self.execute("DELETE FROM titles WHERE tune_id = ?", (number,))
            self.execute("DELETE FROM starts WHERE tune_id = ?", (number,))
            self._insert_lines(number, tune)

    def remove(self, uuid: str) -> None:
        """Take a tune out of the repertoire; its history stays in the file.

        Raises:
            Unknown: There is no such tune, or it was removed.
        """
        with self.writing():
            number = self._edit(uuid)
            self.execute("UPDATE tunes SET removed_at = edited_at WHERE tune_id = ?", (number,))

    def bring_back(self, uuid: str) -> None:
        """Undo ``remove``.

        Raises:
            Unknown: There is no such removed tune.
        """
        with self.writing():
            number = self._edit(uuid, removed=True)
            self.execute("UPDATE tunes SET removed_at = NULL WHERE tune_id = ?", (number,))

    def _edit(self, uuid: str, *, removed: bool = False) -> int:
        """Mark a tune as edited now and return its number."""
        row = self.execute(
            "UPDATE tunes SET edited_at = ? WHERE uuid = ? AND (removed_at IS NOT NULL) = ?"
            " RETURNING tune_id",
            (self.file.edit_stamp("tunes", uuid), uuid, removed),
        ).fetchone()
        if row is None:
            raise self.file.unknown("removed tune" if removed else "tune", uuid)
        return int(row[0])

    def _insert_lines(self, number: int, tune: Tune) -> None:
        self.executemany(
            "INSERT INTO titles (tune_id, place, title) VALUES (?, ?, ?)",
            [(number, place, title) for place, title in enumerate(tune.titles)],
        )
        self.executemany(
            "INSERT INTO starts (tune_id, place, part, notes, pickup, written, root, mode,"
            " key_changes, doubt) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                (
                    number,
                    place,
                    start.part,
                    write_notes(start.notes),
                    str(start.pickup),
                    start.written,
                    *key_columns(start.key),
                    start.doubt,
                )
                for place, start in enumerate(tune.starts)
            ],
        )


def _columns(tune: Tune) -> tuple[Any, ...]:
    return (
        tune.kind,
        *key_columns(tune.key),
        tune.metre,
        write_tuning(tune.tuning),
        tune.status.value,
        tune.declared.value,
        tune.source,
        tune.note,
        int(tune.favourite),
        tune.added.isoformat(),
    )


def _assemble(
    tunes: Sequence[tuple[Any, ...]],
    titles: Iterable[tuple[int, str]],
    starts: Iterable[tuple[Any, ...]],
) -> list[Tune]:
    titles_of: defaultdict[int, list[str]] = defaultdict(list)
    for number, title in titles:
        titles_of[number].append(cleaned(title))
    starts_of: defaultdict[int, list[Start]] = defaultdict(list)
    for number, part, notes, pickup, written, root, mode, changes, doubt in starts:
        starts_of[number].append(
            Start(
                part,
                read_notes(notes),
                read_length(pickup),
                cleaned(written, multiline=True, limit=NOTE_LIMIT) if written else "",
                read_key(root, mode, changes) if root else None,
                cleaned(doubt) if doubt else "",
            )
        )
    return [
        Tune(
            uuid,
            tuple(titles_of.get(number, ())),
            _word(kind),
            read_key(root, mode, changes),
            _word(metre),
            read_tuning(tuning),
            _STATUSES[status],
            tuple(starts_of.get(number, ())),
            _DECLARED[declared],
            _word(source),
            cleaned(note, multiline=True, limit=NOTE_LIMIT) if note else "",
            bool(favourite),
            date.fromisoformat(added),
        )
        for (number, uuid, kind, root, mode, changes, metre, tuning, status, declared, source,
             note, favourite, added) in tunes
    ]  # fmt: skip


_IMPORTS = (
    "SELECT uuid, book, reference, folded, raw, hash, removed_at FROM imports"
    " JOIN tunes USING (tune_id)"
)


class ImportRows(Rows):
    """Imported tunes by book, reference number and title."""

    def of_book(self, book: str) -> dict[tuple[str, str], ImportedRow]:
        """Return what came from a book, by reference number and folded title."""
        with self.reading():
            rows = self.execute(_IMPORTS + " WHERE book = ?", (book,)).fetchall()
        return {(row[2], row[3]): _as_imported(row) for row in rows}

    def by_hash(self, digest: str) -> ImportedRow | None:
        """Return the tune that came from this very text, from any book; a present one first."""
        with self.reading():
            row = self.execute(
                _IMPORTS + " WHERE hash = ? ORDER BY removed_at IS NOT NULL, tune_id LIMIT 1",
                (digest,),
            ).fetchone()
        return None if row is None else _as_imported(row)

    def text_of(self, tune: str) -> str:
        """Return the text a tune was imported from, empty for none: clean it before showing it.

        Raises:
            Unknown: The file never had such a tune.
        """
        with self.reading():
            row = self.execute(
                "SELECT raw FROM imports WHERE tune_id = ? ORDER BY book, reference LIMIT 1",
                (self.file.number_of("tune", tune),),
            ).fetchone()
        return "" if row is None else str(row[0])

    def save(self, row: ImportedRow) -> None:
        """Keep where a tune came from, in place of what was kept for that place of the book.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            self.execute(
                "INSERT OR REPLACE INTO imports (book, reference, folded, tune_id, raw, hash)"
                " VALUES (?, ?, ?, ?, ?, ?)",
                (
                    row.book,
                    row.reference,
                    row.folded,
                    self.file.number_of("tune", row.tune),
                    row.raw,
                    row.hash,
                ),
            )


def _as_imported(row: Sequence[Any]) -> ImportedRow:
    tune, book, reference, folded, raw, digest, removed_at = row
    return ImportedRow(tune, book, reference, folded, raw, digest, removed_at is not None)


_STALE = (
    "SELECT uuid FROM tunes LEFT JOIN twins_made USING (tune_id)"
    " WHERE removed_at IS NULL AND twins_made.edited_at IS NOT tunes.edited_at"
)


class TwinRows(Rows):
    """Twins by tune."""

    def all(self) -> list[TwinRow]:
        """Return the twins of all tunes that are still as they were compared, nearest first."""
        with self.reading():
            return [
                TwinRow(*row)
                for row in self.execute(
                    "SELECT one.uuid, part, two.uuid, other_part, distance, parts_at FROM twins"
                    " JOIN tunes AS one USING (tune_id)"
                    " JOIN tunes AS two ON two.tune_id = other_id"
                    " JOIN twins_made AS made ON made.tune_id = one.tune_id"
                    " AND made.edited_at = one.edited_at"
                    " JOIN twins_made AS other_made ON other_made.tune_id = two.tune_id"
                    " AND other_made.edited_at = two.edited_at"
                    " WHERE one.removed_at IS NULL AND two.removed_at IS NULL"
                    " ORDER BY distance, two.uuid, part, other_part"
                )
            ]

    def not_compared(self, among: Iterable[str] | None = None) -> list[str]:
        """Return the tunes that have to be compared with the others, of ``among`` or of all."""
        some = "" if among is None else " AND uuid IN (SELECT value FROM json_each(?))"
        given = () if among is None else (dumps([*among]),)
        with self.reading():
            found = self.execute(f"{_STALE}{some} ORDER BY uuid", given)
            return [uuid for (uuid,) in found]

    def hold(self, uuid: str) -> None:
        """Take a tune as compared after a change that left its music as it was."""
        with self.writing():
            self.execute(
                "UPDATE twins_made SET edited_at = tunes.edited_at FROM tunes"
                " WHERE tunes.tune_id = twins_made.tune_id AND tunes.uuid = ?",
                (uuid,),
            )

    def save(self, compared: Iterable[str], rows: Iterable[TwinRow]) -> None:
        """Keep the twins of tunes compared just now, in place of what was kept of them.

        Args:
            compared: Tunes that were compared with all others.
            rows: Their twins, seen from both sides.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            execute = self.execute
            for uuid in compared:
                number = self.file.number_of("tune", uuid)
                execute("DELETE FROM twins WHERE tune_id = ?1 OR other_id = ?1", (number,))
                execute(
                    "INSERT OR REPLACE INTO twins_made"
                    " SELECT tune_id, edited_at FROM tunes WHERE tune_id = ?",
                    (number,),
                )
            for row in rows:
                execute(
                    "INSERT OR REPLACE INTO twins VALUES (?, ?, ?, ?, ?, ?)",
                    (
                        self.file.number_of("tune", row.tune),
                        row.part,
                        self.file.number_of("tune", row.other),
                        row.other_part,
                        row.distance,
                        row.parts_at,
                    ),
                )
