"""How far typed notes are from the beginnings of starts, each kind of slip at its own cost.

Costs are hundredths of one slip, so that sums are exact. What makes many other starts possible
costs more: a note left out fits in one way only, one too many in a few, a wrong one in many.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Small = NDArray[np.int8]
    Hundredths = NDArray[np.int16]

PAD = 127
"""Stands for every place after the end of a start."""

MISSING = 80
"""Cost of a note left out."""

EXTRA, EXTRA_FAR = 90, 120
"""Cost of a note too many, near one of its neighbours and not."""

WRONG_NEAR, WRONG, WRONG_FAR = 95, 100, 120
"""Cost of a wrong note up to ``NEAR`` places off, up to ``MOST_OFF``, further."""

NEAR, MOST_OFF = 2, 4

OCTAVE, OCTAVE_MEANT = 10, 50
"""Cost of a note in another octave: letters are often typed without octaves."""

SEMITONE = 20
"""Cost of a note on the right place with another accidental, where accidentals are meant."""

UNWRITTEN = 45
"""Cost of a typed note where the start kept is already at its end."""

_NEVER = 2000
"""More than any twelve notes can cost, and small enough to be added up twelve times."""


def slip_distances(
    off: Small,
    ended: NDArray[np.bool_],
    limit: int,
    *,
    octaves: bool,
    other_sign: NDArray[np.bool_] | None = None,
) -> Hundredths:
    """Edit distance (Levenshtein 1966) of typed notes to the nearest beginning of each start.

    Only so many notes left out or put in are tried as ``limit`` allows: a distance above it may
    come out larger than it is.

    Args:
        off: Places on the staff from each typed note to each note of each start: typed, place,
            start.
        ended: Where a start has no more notes: place, start.
        limit: Distance that matters, in hundredths of a slip.
        octaves: Whether the octaves of the typed notes are meant.
        other_sign: Where the accidentals differ, as ``off``; ``None`` where they are not meant.
    """
    costs = _COSTS[octaves][off.view(np.uint8)]
    if other_sign is not None:
        costs[(costs <= OCTAVE_MEANT) & other_sign] += SEMITONE
    costs[:, ended] = UNWRITTEN
    return _cheapest(costs, _extra_costs(costs), limit // MISSING)


def _table(octave: int, *, meant: bool) -> Hundredths:
    """Cost of a note by places off, a signed byte read as an unsigned one."""
    places = np.arange(256, dtype=np.uint8).view(np.int8).astype(np.int16)
    apart = np.abs(places) if meant else np.minimum(places % 7, -places % 7)
    costs = np.full(256, WRONG_FAR, dtype=np.int16)
    costs[apart <= MOST_OFF] = WRONG
    costs[apart <= NEAR] = WRONG_NEAR
    costs[places % 7 == 0] = octave
    costs[0] = 0
    return costs


_COSTS = {False: _table(OCTAVE, meant=False), True: _table(OCTAVE_MEANT, meant=True)}


def _extra_costs(costs: Hundredths) -> Hundredths:
    """Cost of each typed note as one too many before each place, and after the last."""
    near = costs <= WRONG_NEAR
    beside = np.zeros((costs.shape[0], costs.shape[1] + 1, costs.shape[2]), dtype=np.bool_)
    beside[:, :-1] = near
    beside[:, 1:] |= near
    return np.where(beside, np.int16(EXTRA), np.int16(EXTRA_FAR))


def _cheapest(costs: Hundredths, extras: Hundredths, band: int) -> Hundredths:
    """Sum of the cheapest path, up to ``band`` places ahead of the typed notes or behind."""
    typed, places, columns = costs.shape
    taken = np.full((typed, places + 2 * band + 1, columns), _NEVER, dtype=np.int16)
    taken[:, band : band + places] = costs
    put_in = np.full((typed, places + 2 * band + 2, columns), _NEVER, dtype=np.int16)
    put_in[:, band : band + places + 1] = extras
    # Rows are places of the start taken so far, from ``band`` fewer than typed notes to more.
    row = np.full((2 * band + 1, columns), _NEVER, dtype=np.int16)
    row[band:] = MISSING * np.arange(band + 1, dtype=np.int16)[:, None]
    for note in range(typed):
        before = row
        row = before + taken[note, note : note + 2 * band + 1]
        np.minimum(
            row[:-1], before[1:] + put_in[note, note + 1 : note + 1 + 2 * band], out=row[:-1]
        )
        for place in range(1, 2 * band + 1):
            np.minimum(row[place], row[place - 1] + np.int16(MISSING), out=row[place])
    nearest: Hundredths = row.min(axis=0)
    return nearest
