"""The start in another key, and in another mode.

On strings a fifth apart the key a fifth down lies one string lower under the same fingers (G to
C), the key a fifth up one string higher; a tone up or down sets other fingers: common practice,
no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.music.fingering import fingering
from tunememory.music.forms import letters_of, steps_of
from tunememory.music.key import Key, alters_of, root_name
from tunememory.music.pitch import LETTERS, SEMITONES, Note, Pitch
from tunememory.music.spelling import abc_letter, spell
from tunememory.music.strings import place_name
from tunememory.music.tune import Start
from tunememory.music.ways.material import (
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
    from collections.abc import Iterable

    from tunememory.music.strings import Place, Tuning
    from tunememory.music.ways.material import Subject


_MOST_ALTER = 2


@dataclass(frozen=True, slots=True)
class Shift:
    """How far everything moves.

    Attributes:
        steps: Letters up (down when negative): a fifth up is 4.
        semitones: Semitones up: a fifth up is 7.
        key: The key arrived at.
    """

    steps: int
    semitones: int
    key: Key


def shift(key: Key, semitones: int) -> Shift:
    """Return the move of ``key`` by ``semitones``, to the root with the fewest signs.

    Of two with as many, to the one on the same letter.

    >>> shift(Key("G"), -7).key.short
    'C'
    """
    root = key.tonic
    wanted = (root.midi + semitones) % 12
    names = [
        (letter, alter)
        for letter in LETTERS
        for alter in (-1, 0, 1)
        if (SEMITONES[letter] + alter) % 12 == wanted
    ]
    letter, alter = min(
        names,
        key=lambda name: (
            abs(Key(root_name(*name), key.mode).fifths),
            name[0] != key.root[0],
        ),
    )
    octave = (root.midi + semitones - SEMITONES[letter] - alter) // 12 - 1
    steps = Pitch(octave, letter, alter).step - root.step
    changes = sorted(_moved_name(name, sign, steps, semitones) for name, sign in key.changes)
    return Shift(steps, semitones, Key(root_name(letter, alter), key.mode, tuple(changes)))


def transposed(notes: Iterable[Note], move: Shift) -> tuple[Note, ...]:
    """Return ``notes`` moved, spelled as they stand to the new root."""
    return tuple(Note(_moved(note.pitch, move), note.quarters) for note in notes)


def in_mode(notes: Iterable[Note], key: Key, mode: str) -> tuple[Note, ...]:
    """Return ``notes`` of ``key`` in another mode on the same root.

    Each letter takes the accidental it has in the new mode; what lay above or below its step in
    the old one lies as far above or below it in the new.
    """
    old, target = alters_of(key), Key(key.root, mode)
    new = alters_of(target)
    changed = []
    for note in notes:
        pitch = note.pitch
        alter = new[pitch.letter] + pitch.alter - old[pitch.letter]
        changed.append(Note(_spelled(pitch.octave, pitch.letter, alter, target), note.quarters))
    return tuple(changed)


def _moved(pitch: Pitch, move: Shift) -> Pitch:
    octave, place = divmod(pitch.step + move.steps, 7)
    natural = 12 * (octave + 1) + SEMITONES[LETTERS[place]]
    alter = pitch.midi + move.semitones - natural
    return _spelled(octave, LETTERS[place], alter, move.key)


def _spelled(octave: int, letter: str, alter: int, key: Key) -> Pitch:
    if abs(alter) <= _MOST_ALTER:
        return Pitch(octave, letter, alter)
    return spell(12 * (octave + 1) + SEMITONES[letter] + alter, key)


def _moved_name(letter: str, alter: int, steps: int, semitones: int) -> tuple[str, int]:
    """A change of the signature, moved; its accidental is the one nearest to natural."""
    name = LETTERS[(LETTERS.index(letter) + steps) % 7]
    moved = SEMITONES[letter] + alter + semitones - SEMITONES[name]
    return name, (moved + 6) % 12 - 6


TONES = (2, -2)
"""Semitones to the keys that set other fingers."""


@dataclass(frozen=True, slots=True)
class StringOver:
    """A start moved by a string.

    Attributes:
        semitones: How far it moved.
        places: Where its notes lie now: the same fingers.
    """

    semitones: int
    places: tuple[Place, ...]


def string_over(start: Start, tuning: Tuning, metre: str = "") -> StringOver | None:
    """Return the start one string lower, else one string higher, under the same fingers.

    ``None`` where it falls off the strings, leaves first position, or crosses strings that are
    not evenly tuned, so that the fingers would have to change.
    """
    places = fingering(start.notes, tuning, metre).places
    for way in (-1, 1):
        moved: list[Place] = []
        distances: set[int] = set()
        for place in places:
            if place is None or not 0 <= place.string + way < len(tuning.strings):
                break
            moved.append(replace(place, string=place.string + way))
            distances.add(tuning.strings[place.string + way] - tuning.strings[place.string])
        if len(moved) == len(places) and len(distances) == 1:
            return StringOver(distances.pop(), tuple(moved))
    return None


def other_key(subject: Subject) -> Material:
    """The first start a string over, a tone up and a tone down."""
    heading = "The start in another key"
    if not subject.starts:
        return nothing(heading, NO_START)
    start = subject.starts[0]
    if start.key is None:
        return nothing(heading, NO_KEY)
    metre = start.metre_in(subject.tune.metre)
    home = Piece(f"{start.part} start, at home in {start.key.short}", start, metre)
    lines = piece_lines(home, subject.tuning)
    pieces = [home]
    over = string_over(start, subject.tuning, metre)
    if over is not None:
        way = "lower" if over.semitones < 0 else "higher"
        piece = _in_other_key(start, over.semitones, f"one string {way}, the same fingers", metre)
        rows = {
            "letters": letters_of(piece.start.notes, piece.start.key),
            "fingers": tuple(place_name(place, subject.tuning) for place in over.places),
        }
        lines += [piece.label, *rows_of(rows, piece)]
        pieces.append(piece)
    for semitones in TONES:
        piece = _in_other_key(
            start, semitones, f"a tone {'up' if semitones > 0 else 'down'}", metre
        )
        if None not in fingering(piece.start.notes, subject.tuning, metre).places:
            lines += piece_lines(piece, subject.tuning)
            pieces.append(piece)
    caution = "" if over else "In this tuning no key a string over keeps the fingers of this start."
    return Material(heading, tuple(lines), tuple(pieces), caution)


def _in_other_key(start: Start, semitones: int, how: str, metre: str) -> Piece:
    assert start.key is not None  # noqa: S101 - the caller has looked
    move = shift(start.key, semitones)
    moved = Start(start.part, transposed(start.notes, move), start.pickup, key=move.key)
    return Piece(f"In {move.key.short}: {how}", moved, metre)


_MINOR_LIKE = frozenset({"minor", "dorian", "phrygian", "locrian"})
BLUE_DEGREES = frozenset({3, 5, 7})
"""Steps of the major scale that are played up to a semitone low: common practice, no source."""

_ALWAYS_SOUNDED = frozenset({3, 7})


def other_mode(subject: Subject) -> Material:
    """The first start in the parallel minor or major, dorian and mixolydian; blue notes marked."""
    heading = "The start in another mode"
    if not subject.starts:
        return nothing(heading, NO_START)
    start = subject.starts[0]
    if start.key is None:
        return nothing(heading, NO_KEY)
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
            *rows_of(rows, Piece("", start, metre)),
            *prose("Lower the third and the seventh; the fifth only in passing."),
        ]
        pieces.append(_sounded(start, start.key, blue, metre))
    return Material(heading, tuple(lines), tuple(pieces))


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
