"""Places on the fingerboard: string and finger in first position."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tunememory.tunes.tuning import Tuning

HIGHEST = 8
"""Highest place of first position, in semitones above the open string (4th finger stretched)."""

FINGERS = (0, 1, 1, 2, 2, 3, 3, 4, 4)
"""Finger that stops the string so many semitones above the open one (first position of the
violin; fingers 1 to 4, each may be set low or high)."""

SHORT_MARKS = ("0", "L1", "1", "L2", "2", "3", "H3", "4", "H4")
"""How a place is written: the plain finger is a whole-tone first, high second, third, fourth."""

LONG_MARKS = ("0", "low 1", "1", "low 2", "2", "3", "high 3", "4", "high 4")

OUT_OF_REACH = "–"
"""Stands where a note has no place in first position."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a note is stopped.

    Attributes:
        string: Index into the tuning's strings, low string first.
        semitones: Above the open string, 0 to ``HIGHEST``.
    """

    string: int
    semitones: int

    @property
    def finger(self) -> int:
        """0 (open) to 4."""
        return FINGERS[self.semitones]


def places_of(midi: int, tuning: Tuning) -> tuple[Place, ...]:
    """Every place in first position that sounds ``midi``, low string first."""
    return tuple(
        Place(string, midi - open_string)
        for string, open_string in enumerate(tuning.strings)
        if 0 <= midi - open_string <= HIGHEST
    )


def place_name(place: Place | None, tuning: Tuning) -> str:
    """Short name: ``"A1"``, ``"EL2"``, in cross A ``"E,0"`` for the low E string."""
    if place is None:
        return OUT_OF_REACH
    return tuning.string_names[place.string] + SHORT_MARKS[place.semitones]


def long_place_name(place: Place | None, tuning: Tuning) -> str:
    """Name for a sentence: ``"A1"``, ``"E low 2"``, in cross A ``"low E 0"``."""
    if place is None:
        return "out of reach"
    string, mark = tuning.long_string_names[place.string], LONG_MARKS[place.semitones]
    return f"{string} {mark}" if " " in string or " " in mark else string + mark
