"""Open strings that can sound under a tune: common practice, no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
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


def easy_drones(root_class: int, tuning: Tuning) -> tuple[tuple[int, int], ...]:
    """Drones that sound most easily: open strings next below the one that is played.

    Args:
        root_class: Pitch class of the root, 0 (C) to 11 (B).
        tuning: Strings of the instrument.

    Returns:
        Pairs of the string played and the open one below it, in the order of ``drone_strings``.
    """
    highest = len(tuning.strings) - 1
    strings = drone_strings(root_class, tuning)
    return tuple((string + 1, string) for string in strings if string < highest)


def easy_drones_told(root_class: int, tuning: Tuning) -> str:
    """The same in words: ``"open G under D, open D under A"``."""
    names = tuning.long_string_names
    return ", ".join(
        f"open {names[drone]} under {names[played]}"
        for played, drone in easy_drones(root_class, tuning)
    )
