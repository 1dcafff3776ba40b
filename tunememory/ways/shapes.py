"""Chord shapes on the strings, in frets."""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING

from tunememory.tunes.tuning import STANDARD

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.tunes.tuning import Tuning
    from tunememory.ways.harmony import Chord

MANDOLIN = {
    "G": (0, 0, 2, 3), "C": (0, 2, 3, 0), "D": (2, 0, 0, 2), "A": (2, 2, 4, 5),
    "E": (1, 2, 2, 0), "F": (5, 3, 0, 1), "Bb": (3, 0, 1, 1), "Em": (0, 2, 2, 0),
    "Am": (2, 2, 3, 0), "Bm": (4, 0, 2, 2), "Dm": (2, 0, 0, 1), "Gm": (0, 0, 1, 3),
}  # fmt: skip
"""Frets from the low string on in GDAE: common practice, no source."""

_HIGHEST_FRET = 5
_WIDEST = 3
"""Frets the hand covers beyond the first it stops."""
_FINGERS = 4
_MOST_STRINGS = 5


def shape_of(chord: Chord, tuning: Tuning) -> tuple[int, ...] | None:
    """Return the frets of a chord, low string first, every string sounding.

    In standard tuning the usual shape; elsewhere the one found by ``easiest``. ``None`` where
    the hand cannot take it, or on more than five strings.
    """
    usual = MANDOLIN.get(chord.name) if tuning == STANDARD else None
    return usual or easiest(chord.classes, tuning)


@lru_cache(maxsize=512)
def easiest(classes: tuple[int, int, int], tuning: Tuning) -> tuple[int, ...] | None:
    """Return the shape that stops least: fewest strings stopped, then lowest frets.

    It holds root and third, and the fifth where that is possible.
    """
    if len(tuning.strings) > _MOST_STRINGS:
        return None
    fitting = [
        [fret for fret in range(_HIGHEST_FRET + 1) if (string + fret) % 12 in classes]
        for string in tuning.strings
    ]
    shapes = [shape for shape in product(*fitting) if _holds(shape, classes, tuning)]
    if not shapes:
        return None
    return min(shapes, key=lambda shape: _rank(shape, classes, tuning))


def sounding(shape: Sequence[int], tuning: Tuning) -> tuple[int, ...]:
    """Return the MIDI numbers of a shape, low string first."""
    return tuple(string + fret for string, fret in zip(tuning.strings, shape, strict=True))


def shape_text(shape: Sequence[int]) -> str:
    """Return the frets as players write them: ``"0023"``."""
    return "".join(map(str, shape))


def _holds(shape: Sequence[int], classes: tuple[int, int, int], tuning: Tuning) -> bool:
    heard = {pitch % 12 for pitch in sounding(shape, tuning)}
    stopped = [fret for fret in shape if fret]
    return (
        {classes[0], classes[1]} <= heard
        and len(stopped) <= _FINGERS
        and (not stopped or max(stopped) - min(stopped) <= _WIDEST)
    )


def _rank(
    shape: Sequence[int], classes: tuple[int, int, int], tuning: Tuning
) -> tuple[bool, int, int, Sequence[int]]:
    heard = {pitch % 12 for pitch in sounding(shape, tuning)}
    return (classes[2] not in heard, sum(fret > 0 for fret in shape), sum(shape), shape)
