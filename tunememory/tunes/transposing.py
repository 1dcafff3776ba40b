"""Notes and keys moved to another root, or to another mode on the same root."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.tunes.key import Key
from tunememory.tunes.pitch import LETTERS, SEMITONES, Note, Pitch
from tunememory.tunes.spelling import alters_of, spell

if TYPE_CHECKING:
    from collections.abc import Iterable

_SIGNS = {-1: "b", 0: "", 1: "#"}
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
    root = Pitch(4, key.root[0], key.root.count("#") - key.root.count("b"))
    wanted = (root.midi + semitones) % 12
    names = [
        (letter, alter)
        for letter in LETTERS
        for alter in _SIGNS
        if (SEMITONES[letter] + alter) % 12 == wanted
    ]
    letter, alter = min(
        names,
        key=lambda name: (
            abs(Key(name[0] + _SIGNS[name[1]], key.mode).fifths),
            name[0] != key.root[0],
        ),
    )
    octave = (root.midi + semitones - SEMITONES[letter] - alter) // 12 - 1
    steps = Pitch(octave, letter, alter).step - root.step
    changes = sorted(_moved_name(name, sign, steps, semitones) for name, sign in key.changes)
    return Shift(steps, semitones, Key(letter + _SIGNS[alter], key.mode, tuple(changes)))


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
