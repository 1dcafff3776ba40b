"""Notes and keys as the file keeps them: exact, compact, quick to read.

A start is its notes parted by spaces, each ``PITCH:QUARTERS``: the spelled pitch in scientific
notation (middle C is ``C4``; ``#``, ``##``, ``b``, ``bb``) and its length in quarter notes as a
whole number or a fraction: ``D4:1/2 F#4:1/2 A4:1``. It says nothing of key, metre or unit length,
so it reads the same whatever the tune's header becomes. The few hundred different notes of a
repertoire are made once and shared.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from tunememory.tunes.key import Key
from tunememory.tunes.pitch import Note, Pitch
from tunememory.tunes.tuning import Tuning

if TYPE_CHECKING:
    from collections.abc import Iterable

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
