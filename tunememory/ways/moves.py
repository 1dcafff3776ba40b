"""The most awkward moves from one note to the next, with rhythms to try on them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.fingering import COMMON_BAR, fingering
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.pitch import Note
from tunememory.tunes.tune import Start
from tunememory.ways.material import NO_START, Material, Piece, nothing, prose

if TYPE_CHECKING:
    from tunememory.tunes.fingering import Move
    from tunememory.ways.material import Subject

MOST = 3
"""Moves shown."""

RHYTHMS = (
    ("even", (Fraction(1, 2), Fraction(1, 2))),
    ("long and short", (Fraction(3, 4), Fraction(1, 4))),
    ("short and long", (Fraction(1, 4), Fraction(3, 4))),
)
"""Lengths of the two notes in quarters: common practice, no source."""

_TIMES = 4


@dataclass(frozen=True, slots=True)
class _Found:
    move: Move
    start: Start


def moves(subject: Subject) -> Material:
    """The moves that cost most in the easiest fingering of all that is known of the tune."""
    heading = "The most awkward moves"
    if not subject.known:
        return nothing("moves", heading, NO_START)
    found = _hardest(subject)
    if not found:
        return nothing("moves", heading, "Nothing in it is awkward: play it a little faster.")
    lines: list[str] = []
    pieces: list[Piece] = []
    for number, one in enumerate(found, 1):
        where = one.start.part if subject.melody else f"{one.start.part} start"
        lines += prose(f"{number}. {one.move.why} ({where}, note {one.move.note + 1})", "   ")
        two = one.start.notes[one.move.note - 1 : one.move.note + 1]
        for rhythm, lengths in RHYTHMS:
            notes = tuple(
                Note(note.pitch, length) for note, length in zip(two, lengths, strict=True)
            )
            start = Start(str(number), notes * _TIMES, key=one.start.key)
            pieces.append(Piece(f"{one.move.why.partition(':')[0]}, {rhythm}", start, ""))
    lines += prose("Each slowly four times: even; long and short; short and long.")
    lines += prose("Then with the note before and the note after, then the whole start.")
    return Material("moves", heading, tuple(lines), tuple(pieces))


def _hardest(subject: Subject) -> list[_Found]:
    bar = bar_quarters(subject.tune.metre) or COMMON_BAR
    told: dict[str, _Found] = {}
    for start in subject.known:
        for move in fingering(start.notes, subject.tuning, bar).hardest(len(start.notes)):
            if move.why not in told or move.cost > told[move.why].move.cost:
                told[move.why] = _Found(move, start)
    return sorted(told.values(), key=lambda one: -one.move.cost)[:MOST]
