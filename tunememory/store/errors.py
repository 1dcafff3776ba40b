"""What can go wrong with a repertoire file, each said in one line for the player."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


class RepertoireError(NotDoneError):
    """Something about the file. ``str()`` is one line: which file, what is wrong, what to do."""


class NotOurs(RepertoireError):  # noqa: N818 - read as a sentence: "except NotOurs"
    """The file is not a repertoire."""


class Newer(RepertoireError):  # noqa: N818 - see NotOurs
    """A later version of the program wrote the file."""


class Damaged(RepertoireError):  # noqa: N818 - see NotOurs
    """Part of the file cannot be read."""


class ReadOnly(RepertoireError):  # noqa: N818 - see NotOurs
    """The file or its folder cannot be written."""


class Busy(RepertoireError):  # noqa: N818 - see NotOurs
    """Another window or program holds the file."""


class Full(RepertoireError):  # noqa: N818 - see NotOurs
    """There is no room left on the disk."""


class Unknown(RepertoireError):  # noqa: N818 - see NotOurs
    """The tune, check or round meant is not in the file."""


def shown(path: Path) -> str:
    """Return ``path`` as it may be printed in a message."""
    return clean_text(str(path), limit=500)


def not_ours(path: Path, what: str) -> NotOurs:
    """Say that ``path`` is something else; ``what`` ends the sentence "… is …"."""
    return NotOurs(f"{shown(path)} is {what}; it was left as it is. Give another file.")


def damaged(path: Path, what: str) -> Damaged:
    """Say that ``path`` cannot be read in full; ``what`` names the place or the cause."""
    return Damaged(
        f"{shown(path)} is damaged ({clean_text(what)}); it was left as it is. "
        "Bring back a copy with: tunememory restore"
    )


def busy(path: Path) -> Busy:
    """Say that ``path`` is held by someone else."""
    return Busy(f"{shown(path)} is in use by another window or program; try again in a moment.")


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn errors of the database and the file system inside the block into ours.

    ``sqlite3.ProgrammingError`` passes: it is a mistake in the program, not in the file.

    Raises:
        RepertoireError: In place of ``sqlite3.Error``, ``OSError`` and unstorable text.
    """
    try:
        yield
    except sqlite3.ProgrammingError:
        raise
    except sqlite3.Error as error:
        raise _explain(error, path) from error
    except OSError as error:
        raise _explain_system(error, path) from error
    except UnicodeDecodeError as error:
        raise damaged(path, "a text in it is not UTF-8") from error
    except UnicodeEncodeError as error:
        raise RepertoireError(
            f"{shown(path)}: a text holds half a character and was not stored; type it again."
        ) from error


_WORDS: dict[int, tuple[type[RepertoireError], str]] = {
    sqlite3.SQLITE_READONLY_DBMOVED: (
        ReadOnly,
        "was moved or replaced while open; close and open it again.",
    ),
    sqlite3.SQLITE_READONLY_ROLLBACK: (
        ReadOnly,
        "was left half written; open it once with leave to write.",
    ),
    sqlite3.SQLITE_READONLY: (
        ReadOnly,
        "cannot be written; nothing was changed. Check permissions.",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        ReadOnly,
        "or its folder cannot be opened or written; nothing was changed. Check permissions.",
    ),
    sqlite3.SQLITE_FULL: (
        Full,
        "could not grow, the disk is full; the last change was not saved. "
        "Free some room and do it again.",
    ),
    sqlite3.SQLITE_IOERR: (
        RepertoireError,
        "could not be read or written; the last change was not saved. Check the disk.",
    ),
    sqlite3.SQLITE_NOTADB: (
        NotOurs,
        "is not a repertoire file; it was left as it is. Give another file.",
    ),
}
"""What follows the file's name, by result code (sqlite.org/rescode.html)."""


def _explain(error: sqlite3.Error, path: Path) -> RepertoireError:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR)
    # The low byte is the kind of error, the rest says more about it.
    kind = code & 0xFF
    why = clean_text(str(error), limit=100)
    if kind == sqlite3.SQLITE_CONSTRAINT:
        return RepertoireError(f"{shown(path)}: the file does not take this value ({why}).")
    if kind in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
        return busy(path)
    if code not in _WORDS and kind not in _WORDS:
        return damaged(path, why)
    ours, words = _WORDS.get(code) or _WORDS[kind]
    return ours(f"{shown(path)} {words}")


def _explain_system(error: OSError, path: Path) -> RepertoireError:
    what = error.strerror or str(error)
    text = f"{shown(path)} cannot be opened or written ({what}); nothing was changed."
    if isinstance(error, PermissionError):
        return ReadOnly(f"{text} Check permissions.")
    return RepertoireError(f"{text} Check the path and the disk.")
