"""Bringing back a copy of the file."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from tunememory.store.backup import WAIT, copy_before, copy_content, copy_file
from tunememory.store.errors import (
    Damaged,
    NotOurs,
    RepertoireError,
    Unknown,
    damaged,
    explained,
    shown,
)
from tunememory.store.opening import connect

if TYPE_CHECKING:
    import sqlite3
    from pathlib import Path


def restore(path: Path, backup: Path, *, wait: float = WAIT) -> Path | None:
    """Put the content of ``backup`` in place of the file at ``path``.

    Other windows on the file see the change. What was there is kept: as a copy among the backups,
    or, where it cannot be read, as it is under another name.

    Args:
        path: The repertoire file; it may be damaged or missing.
        backup: The copy, which may be of an earlier format; it is not changed.
        wait: Seconds to wait for another writer.

    Returns:
        Where what was there is kept, ``None`` if there was nothing.

    Raises:
        RepertoireError: The copy is no sound repertoire, or the file cannot be written; the file
            is as it was.
    """
    with closing(connect(backup, create=False, readonly=True, older=True)) as source:
        with explained(backup):
            _refuse_unsound(source, backup)
            if path.exists() and path.samefile(backup):
                raise RepertoireError(f"{shown(path)} is that copy itself; give another file.")
        kept = _replace(path, backup, source, wait)
    # A copy of an earlier format is brought up to date.
    connect(path, create=False, readonly=False).close()
    return kept


def _refuse_unsound(source: sqlite3.Connection, backup: Path) -> None:
    (answer,) = source.execute("PRAGMA integrity_check(1)").fetchone()
    if answer != "ok":
        raise damaged(backup, answer)


def _replace(path: Path, backup: Path, source: sqlite3.Connection, wait: float) -> Path | None:
    try:
        target = connect(path, create=False, readonly=False, wait=wait, older=True)
    except Unknown:
        copy_file(backup, path)
        return None
    except (Damaged, NotOurs):
        if path.is_dir():
            raise
        kept = _set_aside(path)
        copy_file(backup, path)
        return kept
    with closing(target), explained(path):
        kept = copy_before(path, "restore")
        copy_content(source, target, path, wait)
    return kept


def _set_aside(path: Path) -> Path:
    """Give an unreadable file, and its journal, another name."""
    number = 1
    while (kept := path.with_name(f"{path.name}.unreadable-{number}")).exists():
        number += 1
    with explained(path):
        journal = path.with_name(path.name + "-journal")
        if journal.exists():
            journal.replace(kept.with_name(kept.name + "-journal"))
        path.replace(kept)
    return kept
