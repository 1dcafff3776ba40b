"""The notes of the tune's mode up and down its range, and its most awkward moves."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.music.fingering import fingering
from tunememory.music.key import alters_of
from tunememory.music.pitch import Note
from tunememory.music.spelling import spell
from tunememory.music.strings import places_of
from tunememory.music.tune import Start
from tunememory.music.ways.material import (
    NO_KEY,
    NO_START,
    Material,
    Piece,
    nothing,
    piece_lines,
    prose,
)

if TYPE_CHECKING:
    from tunememory.music.fingering import Move
    from tunememory.music.key import Key
    from tunememory.music.pitch import Pitch
    from tunememory.music.strings import Tuning
    from tunememory.music.ways.material import Subject


_EIGHTH = Fraction(1, 2)


def scale(subject: Subject) -> Material:
    """The mode's notes from the root below the lowest note to the root above the highest.

    Where such a root is out of first position the scale turns at the last note in reach.
    """
    key = subject.tune.key
    if key is None:
        return nothing("Its scale", NO_KEY)
    heading = f"Scale of {key.name}, up and down its range"
    sounding = [note.pitch.midi for start in subject.known for note in start.notes]
    up = scale_notes(key, subject.tuning, sounding)
    if not up:
        return nothing(heading, "No note of it is in reach in this tuning.")
    notes = [Note(pitch, _EIGHTH) for pitch in (*up, *up[-2::-1])]
    notes[-1] = Note(notes[-1].pitch, 4 * _EIGHTH)
    climb = Piece("Up", Start("up", tuple(notes[: len(up)]), key=key), "")
    lines = [
        *piece_lines(climb, subject.tuning, steps=True),
        *prose("Down the same way; then each note twice, then in pairs."),
    ]
    whole = Piece(heading, Start("scale", tuple(notes), key=key), "")
    return Material(heading, tuple(lines), (whole,))


def scale_notes(key: Key, tuning: Tuning, sounding: list[int]) -> tuple[Pitch, ...]:
    """Return the notes of the scale in reach, low to high.

    Args:
        key: Root and mode, changes of its signature included.
        tuning: Strings.
        sounding: MIDI numbers of the tune's notes; an octave from the lowest root when empty.
    """
    reach = [
        midi
        for midi in range(min(tuning.strings), max(tuning.strings) + 9)
        if places_of(spell(midi, key), tuning)
    ]
    roots = [midi for midi in reach if midi % 12 == key.root_class]
    if not sounding:
        sounding = [roots[0], roots[0] + 12] if roots else []
    if not sounding:
        return ()
    below = [root for root in roots if root <= min(sounding)]
    above = [root for root in roots if root >= max(sounding)]
    lowest = below[-1] if below else min(sounding)
    highest = above[0] if above else max(sounding)
    alters = alters_of(key)
    pitches = (spell(midi, key) for midi in reach if lowest <= midi <= highest)
    return tuple(pitch for pitch in pitches if alters[pitch.letter] == pitch.alter)


MOST = 3
"""Moves shown."""

RHYTHMS = (
    ("even", (Fraction(1, 2), Fraction(1, 2))),
    ("long and short", (Fraction(3, 4), Fraction(1, 4))),
    ("short and long", (Fraction(1, 4), Fraction(3, 4))),
)
"""Lengths of the two notes in quarters: common practice, no source."""

_TIMES = 4


def moves(subject: Subject) -> Material:
    """The moves that cost most in the easiest fingering of all that is known of the tune."""
    heading = "The most awkward moves"
    if not subject.known:
        return nothing(heading, NO_START)
    found = _hardest(subject)
    if not found:
        return nothing(heading, "Nothing in it is awkward: play it a little faster.")
    lines: list[str] = []
    pieces: list[Piece] = []
    for number, (move, start) in enumerate(found, 1):
        where = start.part if subject.melody else f"{start.part} start"
        lines += prose(f"{number}. {move.why} ({where}, note {move.note + 1})", "   ")
        two = start.notes[move.note - 1 : move.note + 1]
        for rhythm, lengths in RHYTHMS:
            notes = tuple(
                Note(note.pitch, length) for note, length in zip(two, lengths, strict=True)
            )
            repeated = Start(str(number), notes * _TIMES, key=start.key)
            pieces.append(Piece(f"{move.why.partition(':')[0]}, {rhythm}", repeated, ""))
    lines += prose("Each slowly four times: even; long and short; short and long.")
    lines += prose("Then with the note before and the note after, then the whole start.")
    return Material(heading, tuple(lines), tuple(pieces))


def _hardest(subject: Subject) -> list[tuple[Move, Start]]:
    told: dict[str, tuple[Move, Start]] = {}
    for start in subject.known:
        easiest = fingering(start.notes, subject.tuning, subject.tune.metre)
        for move in easiest.hardest(len(start.notes)):
            if move.why not in told or move.cost > told[move.why][0].cost:
                told[move.why] = (move, start)
    return sorted(told.values(), key=lambda found: -found[0].cost)[:MOST]
