"""Key signatures without a root: what they are, and the keys that have them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.key import MODES, Key

if TYPE_CHECKING:
    from collections.abc import Mapping

USUAL_MODES = ("major", "minor", "dorian", "mixolydian")
"""Modes of dance music: all but a few of 4,435 printed tunes are in one of these."""

MOST = 7
"""Sharps or flats a signature can have."""

_FIFTHS_BELOW_MAJOR = {mode: -Key("C", mode).fifths for mode in MODES}
_CIRCLE = "FCGDAEB"


def key_of_signature(fifths: int, mode: str) -> Key:
    """Return the key of a mode that has a signature.

    Args:
        fifths: Sharps, or flats as a negative number.
        mode: One of ``MODES``.

    >>> key_of_signature(2, "minor").short, key_of_signature(-2, "major").short
    ('Bm', 'Bb')
    """
    sign, place = divmod(fifths + _FIFTHS_BELOW_MAJOR[mode] + 1, 7)
    return Key(_CIRCLE[place] + ("#" * sign if sign > 0 else "b" * -sign), mode)


def fifths_of(alters: Mapping[str, int]) -> int | None:
    """Return the sharps (flats negative) of a signature; ``None`` where it is no usual one."""
    fifths = sum(alters.values())
    usual = abs(fifths) <= MOST and dict(alters) == key_of_signature(fifths, "major").alters()
    return fifths if usual else None
