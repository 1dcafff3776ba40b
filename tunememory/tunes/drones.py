"""Open strings that can sound under a tune: common practice, no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tunememory.tunes.places import Place
    from tunememory.tunes.tuning import Tuning

_FIFTH = 7


def drone_strings(root_class: int, tuning: Tuning) -> tuple[int, ...]:
    """Open strings that can drone under a tune: those on its root, then those a fifth above.

    Args:
        root_class: Pitch class of the root, 0 (C) to 11 (B).
        tuning: Strings of the instrument.

    Returns:
        Indices of strings, low string first within each of the two; empty where none fits.
    """
    return tuple(
        string
        for wanted in (root_class, root_class + _FIFTH)
        for string, pitch in enumerate(tuning.strings)
        if (pitch - wanted) % 12 == 0
    )


def easy_drone(place: Place) -> int | None:
    """The open string that sounds most easily with a stopped note: the next one below."""
    return place.string - 1 if place.string > 0 else None
