"""Noticing that a tune may be here already under another name."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tunememory.tunes.tune import Tune

LEAST_NOTES = 8
"""Starts shorter than this are too often alike by chance."""


def opening_of(tune: Tune) -> tuple[object, ...]:
    """Return what two settings of one tune share: the first start from its root, note for note.

    Pitches count from the root and without their octave, lengths as they are written. Empty when
    the start is too short, or the key is not known.
    """
    for start in tune.starts:
        key = start.key or tune.key
        if key is not None and len(start.notes) >= LEAST_NOTES:
            return tuple(
                ((note.pitch.midi - key.root_class) % 12, note.quarters) for note in start.notes
            )
    return ()
