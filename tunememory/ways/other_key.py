"""The start in another key.

On strings a fifth apart the key a fifth down lies one string lower under the same fingers (G to
C), the key a fifth up one string higher; a tone up or down sets other fingers: common practice,
no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.tunes.fingering import COMMON_BAR, fingering
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.places import place_name
from tunememory.tunes.shown import letters_of
from tunememory.tunes.transposing import shift, transposed
from tunememory.tunes.tune import Start
from tunememory.ways.material import (
    NO_KEY,
    NO_START,
    Material,
    Piece,
    nothing,
    piece_lines,
    rows_of,
)

if TYPE_CHECKING:
    from fractions import Fraction

    from tunememory.tunes.places import Place
    from tunememory.tunes.tuning import Tuning
    from tunememory.ways.material import Subject

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


def string_over(start: Start, tuning: Tuning, bar: Fraction = COMMON_BAR) -> StringOver | None:
    """Return the start one string lower, else one string higher, under the same fingers.

    ``None`` where it falls off the strings, leaves first position, or crosses strings that are
    not evenly tuned, so that the fingers would have to change.
    """
    places = fingering(start.notes, tuning, bar).places
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
        return nothing("key", heading, NO_START)
    start = subject.starts[0]
    if start.key is None:
        return nothing("key", heading, NO_KEY)
    metre = start.metre_in(subject.tune.metre)
    bar = bar_quarters(metre) or COMMON_BAR
    home = Piece(f"{start.part} start, at home in {start.key.short}", start, metre)
    lines = piece_lines(home, subject.tuning)
    pieces = [home]
    over = string_over(start, subject.tuning, bar)
    if over is not None:
        way = "lower" if over.semitones < 0 else "higher"
        piece = _moved(start, over.semitones, f"one string {way}, the same fingers", metre)
        rows = {
            "letters": letters_of(piece.start.notes, piece.start.key),
            "fingers": tuple(place_name(place, subject.tuning) for place in over.places),
        }
        lines += [piece.label, *rows_of(rows, piece.start.notes, start.pickup, metre)]
        pieces.append(piece)
    for semitones in TONES:
        piece = _moved(start, semitones, f"a tone {'up' if semitones > 0 else 'down'}", metre)
        if None not in fingering(piece.start.notes, subject.tuning, bar).places:
            lines += piece_lines(piece, subject.tuning)
            pieces.append(piece)
    caution = "" if over else "In this tuning no key a string over keeps the fingers of this start."
    return Material("key", heading, tuple(lines), tuple(pieces), caution)


def _moved(start: Start, semitones: int, how: str, metre: str) -> Piece:
    assert start.key is not None  # noqa: S101 - the caller has looked
    move = shift(start.key, semitones)
    moved = Start(start.part, transposed(start.notes, move), start.pickup, key=move.key)
    return Piece(f"In {move.key.short}: {how}", moved, metre)
