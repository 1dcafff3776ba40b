"""Completing the path of a file as it is typed."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from tunememory.ui.text import bare

MOST_ENTRIES = 500
"""Entries of a folder offered at most; typing a letter narrows them."""

BOOKS = (".abc", ".txt", ".xml", ".musicxml", ".mxl", ".mid", ".midi", ".csv")
"""Endings of files that may be tune books; others are offered after them."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A folder or file that what is typed may become.

    Attributes:
        text: The path as it would be typed; a folder ends in a slash.
        name: Its last part.
        folder: Whether it is a folder.
    """

    text: str
    name: str
    folder: bool


def expanded(typed: str) -> Path:
    """Return the path typed, ``~`` made into the home folder."""
    path = Path(typed)
    try:
        return path.expanduser()
    except RuntimeError:
        return path


def begun_anew(typed: str) -> str:
    """Return ``typed`` from where a whole path begins in it: ``x//y`` means ``/y``, ``x/~`` ``~``.

    A path that is pasted or typed after the folder offered replaces that folder.
    """
    whole = max(typed.rfind("//") + 1, typed.rfind("/~/") + 1)
    return typed[whole:]


def completions(typed: str) -> tuple[list[Entry], str]:
    """Return what ``typed`` may become, folders first, then tune books, then other files.

    Hidden entries come only when a dot is typed. Names that a terminal cannot show are left out,
    since they cannot be typed either.

    Returns:
        The entries, and why there are none when the folder cannot be read.
    """
    folder_text, begun = typed[: typed.rfind("/") + 1], typed[typed.rfind("/") + 1 :]
    found: list[Entry] = []
    try:
        with os.scandir(expanded(folder_text or ".")) as entries:
            for entry in entries:
                name = entry.name
                if not name.casefold().startswith(begun.casefold()) or bare(name) != name:
                    continue
                if name.startswith(".") and not begun.startswith("."):
                    continue
                folder = entry.is_dir()
                found.append(Entry(f"{folder_text}{name}{'/' if folder else ''}", name, folder))
    except OSError as error:
        where = bare(folder_text) or "this folder"
        return [], f"{where}: {(error.strerror or 'cannot be read').lower()}"
    found.sort(key=_place)
    return found[:MOST_ENTRIES], ""


def completed(typed: str, entries: list[Entry]) -> str:
    """Return ``typed`` with all the letters that the entries have in common."""
    if not entries:
        return typed
    common = 0
    for signs in zip(*(entry.text for entry in entries), strict=False):
        if len({sign.casefold() for sign in signs}) > 1:
            break
        common += 1
    return entries[0].text[:common] if common > len(typed) else typed


def _place(entry: Entry) -> tuple[int, str]:
    kind = 0 if entry.folder else 1 if entry.name.casefold().endswith(BOOKS) else 2
    return kind, entry.name.casefold()
