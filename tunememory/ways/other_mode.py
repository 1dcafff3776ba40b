"""The start in another mode on the same root, and with blue notes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.tunes.key import Key
from tunememory.tunes.pitch import LETTERS, Note
from tunememory.tunes.shown import letters_of, steps_of
from tunememory.tunes.spelling import abc_letter, alters_of
from tunememory.tunes.transposing import in_mode
from tunememory.ways.material import (
    NO_KEY,
    NO_START,
    Material,
    Piece,
    nothing,
    piece_lines,
    prose,
    rows_of,
)

if TYPE_CHECKING:
    from tunememory.tunes.pitch import Pitch
    from tunememory.tunes.tune import Start
    from tunememory.ways.material import Subject

_MINOR_LIKE = frozenset({"minor", "dorian", "phrygian", "locrian"})
BLUE_DEGREES = frozenset({3, 5, 7})
"""Steps of the major scale that are played up to a semitone low: common practice, no source."""

_ALWAYS_SOUNDED = frozenset({3, 7})


def other_mode(subject: Subject) -> Material:
    """The first start in the parallel minor or major, dorian and mixolydian; blue notes marked."""
    heading = "The start in another mode"
    if not subject.starts:
        return nothing("mode", heading, NO_START)
    start = subject.starts[0]
    if start.key is None:
        return nothing("mode", heading, NO_KEY)
    metre = start.metre_in(subject.tune.metre)
    lines: list[str] = []
    pieces: list[Piece] = []
    parallel = "major" if start.key.mode in _MINOR_LIKE else "minor"
    for mode in (parallel, "dorian", "mixolydian"):
        if mode != start.key.mode:
            piece = _as_mode(start, start.key, mode, metre)
            lines += piece_lines(piece, subject.tuning)
            pieces.append(piece)
    blue = blue_notes(start, start.key)
    if any(blue):
        rows = {
            "letters": letters_of(start.notes, start.key),
            "steps": steps_of(start.notes, start.key),
            "blue": tuple(abc_letter(low, start.key) if low else "" for low in blue),
        }
        lines += [
            f"Blue notes in {start.key.short}: third, fifth and seventh lowered",
            *rows_of(rows, start.notes, start.pickup, metre),
            *prose("Lower the third and the seventh; the fifth only in passing."),
        ]
        pieces.append(_sounded(start, start.key, blue, metre))
    return Material("mode", heading, tuple(lines), tuple(pieces))


def blue_notes(start: Start, key: Key) -> tuple[Pitch | None, ...]:
    """Return for each note its blue form, ``None`` where it has none.

    A third, fifth or seventh of the major scale on the root that stands as high as there is a
    semitone lower; one that the mode or an accidental has low already is blue as it is.
    """
    major = alters_of(Key(key.root))
    return tuple(
        replace(note.pitch, alter=note.pitch.alter - 1)
        if _degree(note.pitch, key) in BLUE_DEGREES and note.pitch.alter == major[note.pitch.letter]
        else None
        for note in start.notes
    )


def _degree(pitch: Pitch, key: Key) -> int:
    return (LETTERS.index(pitch.letter) - LETTERS.index(key.root[0])) % 7 + 1


def _as_mode(start: Start, key: Key, mode: str, metre: str) -> Piece:
    target = Key(key.root, mode)
    changed = replace(start, notes=in_mode(start.notes, key, mode), key=target, doubt="")
    return Piece(f"In {target.name}", changed, metre)


def _sounded(start: Start, key: Key, blue: tuple[Pitch | None, ...], metre: str) -> Piece:
    notes = tuple(
        Note(low, note.quarters) if low and _degree(low, key) in _ALWAYS_SOUNDED else note
        for note, low in zip(start.notes, blue, strict=True)
    )
    return Piece("With blue notes", replace(start, notes=notes, doubt=""), metre)
