"""Tunes, with their titles and starts."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from tunememory.store.base import RepertoireFile, cleaned, stamp
from tunememory.store.notes import (
    key_columns,
    read_key,
    read_length,
    read_notes,
    read_tuning,
    write_notes,
    write_tuning,
)
from tunememory.tunes.text import NOTE_LIMIT
from tunememory.tunes.tune import Declared, Start, Status, Tune

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

_TUNES = (
    "SELECT tune_id, uuid, kind, root, mode, key_changes, metre, tuning, status, declared, source,"
    " note, favourite, added FROM tunes"
)
_TITLES = "SELECT tune_id, title FROM titles"
_STARTS = "SELECT tune_id, part, notes, pickup, written, root, mode, key_changes, doubt FROM starts"
_word = lru_cache(maxsize=2048)(cleaned)  # few different ones in a repertoire
_STATUSES = {status.value: status for status in Status}
_DECLARED = {declared.value: declared for declared in Declared}


class TuneRows(RepertoireFile):
    """The repertoire's tunes. Removed tunes are kept out of sight for history and merging."""

    def tunes(self) -> list[Tune]:
        """Return every tune, in the order they came in."""
        with self.reading():
            execute = self.connection.execute
            return _assemble(
                execute(_TUNES + " WHERE removed_at IS NULL ORDER BY tune_id").fetchall(),
                execute(_TITLES + " ORDER BY tune_id, place").fetchall(),
                execute(_STARTS + " ORDER BY tune_id, place").fetchall(),
            )

    def tune(self, uuid: str) -> Tune:
        """Return one tune.

        Raises:
            Unknown: There is no such tune, or it was removed.
        """
        with self.reading():
            execute = self.connection.execute
            rows = execute(_TUNES + " WHERE uuid = ? AND removed_at IS NULL", (uuid,)).fetchall()
            if not rows:
                raise self.unknown("tune", uuid)
            only = " WHERE tune_id = ? ORDER BY place"
            number = rows[0][:1]
            return _assemble(
                rows,
                execute(_TITLES + only, number).fetchall(),
                execute(_STARTS + only, number).fetchall(),
            )[0]

    def add_tunes(self, tunes: Iterable[Tune]) -> None:
        """Add tunes, all or none.

        Raises:
            RepertoireError: One of them is in the file already, or breaks a rule of the file.
        """
        with self.writing():
            edited_at = stamp(self._clock.now())
            for tune in tunes:
                cursor = self.connection.execute(
                    "INSERT INTO tunes (kind, root, mode, key_changes, metre, tuning, status,"
                    " declared, source, note, favourite, added, edited_at, uuid)"
                    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    (*_columns(tune), edited_at, tune.uuid),
                )
                self._insert_lines(int(cursor.lastrowid or 0), tune)

    def update_tune(self, tune: Tune) -> None:
        """Replace what is kept of a tune.

        Raises:
            Unknown: There is no such tune, or it was removed.
        """
        with self.writing():
            number = self._edit(tune.uuid)
            self.connection.execute(
                "UPDATE tunes SET kind = ?, root = ?, mode = ?, key_changes = ?, metre = ?,"
                " tuning = ?, status = ?, declared = ?, source = ?, note = ?, favourite = ?,"
                " added = ? WHERE tune_id = ?",
                (*_columns(tune), number),
            )
            self.connection.execute("DELETE FROM titles WHERE tune_id = ?", (number,))
            self.connection.execute("DELETE FROM starts WHERE tune_id = ?", (number,))
            self._insert_lines(number, tune)

    def remove_tune(self, uuid: str) -> None:
        """Take a tune out of the repertoire; its history stays in the file.

        Raises:
            Unknown: There is no such tune, or it was removed.
        """
        with self.writing():
            number = self._edit(uuid)
            self.connection.execute(
                "UPDATE tunes SET removed_at = edited_at WHERE tune_id = ?", (number,)
            )

    def bring_back_tune(self, uuid: str) -> None:
        """Undo ``remove_tune``.

        Raises:
            Unknown: There is no such removed tune.
        """
        with self.writing():
            number = self._edit(uuid, removed=True)
            self.connection.execute(
                "UPDATE tunes SET removed_at = NULL WHERE tune_id = ?", (number,)
            )

    def _edit(self, uuid: str, *, removed: bool = False) -> int:
        """Mark a tune as edited now and return its number."""
        row = self.connection.execute(
            "SELECT tune_id, edited_at FROM tunes WHERE uuid = ? AND (removed_at IS NOT NULL) = ?",
            (uuid, removed),
        ).fetchone()
        if row is None:
            raise self.unknown("removed tune" if removed else "tune", uuid)
        self.connection.execute(
            "UPDATE tunes SET edited_at = ? WHERE tune_id = ?", (self.edit_stamp(row[1:]), row[0])
        )
        return int(row[0])

    def _insert_lines(self, number: int, tune: Tune) -> None:
        self.connection.executemany(
            "INSERT INTO titles (tune_id, place, title) VALUES (?, ?, ?)",
            [(number, place, title) for place, title in enumerate(tune.titles)],
        )
        self.connection.executemany(
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
