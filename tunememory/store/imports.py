"""What each imported tune came from, so that importing a book again is safe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tunememory.store.base import RepertoireFile

if TYPE_CHECKING:
    from collections.abc import Sequence

_IMPORTS = (
    "SELECT uuid, book, reference, folded, raw, hash, removed_at FROM imports"
    " JOIN tunes USING (tune_id)"
)


@dataclass(frozen=True, slots=True)
class ImportedRow:
    """Where in a book a tune came from.

    Attributes:
        tune: Identity of the tune.
        book: Name of the book.
        reference: Reference number in the book (ABC ``X:``), as text.
        folded: Title in the book as ``fold_title`` gives it.
        raw: Text of the tune in the book, just as it was: clean it before it is shown.
        hash: Digest of the text, by which an unchanged tune is known.
        removed: Whether the player has removed the tune since (not kept by ``remember_import``).
    """

    tune: str
    book: str
    reference: str
    folded: str
    raw: str
    hash: str
    removed: bool = False


class ImportRows(RepertoireFile):
    """Imported tunes by book, reference number and title."""

    def imported(self, book: str) -> dict[tuple[str, str], ImportedRow]:
        """Return what came from a book, by reference number and folded title."""
        with self.reading():
            rows = self.connection.execute(_IMPORTS + " WHERE book = ?", (book,)).fetchall()
        return {(row[2], row[3]): _as_imported(row) for row in rows}

    def by_hash(self, digest: str) -> ImportedRow | None:
        """Return the tune that came from this very text, from any book; a present one first."""
        with self.reading():
            row = self.connection.execute(
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
            row = self.connection.execute(
                "SELECT raw FROM imports WHERE tune_id = ? ORDER BY book, reference LIMIT 1",
                (self.tune_number(tune),),
            ).fetchone()
        return "" if row is None else str(row[0])

    def remember_import(self, row: ImportedRow) -> None:
        """Keep where a tune came from, in place of what was kept for that place of the book.

        Raises:
            Unknown: The file has no such tune.
        """
        with self.writing():
            self.connection.execute(
                "INSERT OR REPLACE INTO imports (book, reference, folded, tune_id, raw, hash)"
                " VALUES (?, ?, ?, ?, ?, ?)",
                (
                    row.book,
                    row.reference,
                    row.folded,
                    self.tune_number(row.tune),
                    row.raw,
                    row.hash,
                ),
            )


def _as_imported(row: Sequence[Any]) -> ImportedRow:
    tune, book, reference, folded, raw, digest, removed_at = row
    return ImportedRow(tune, book, reference, folded, raw, digest, removed_at is not None)
