"""Which tuning to stay in: the one the instrument stands in, unless others have waited."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tunememory.planning.standing import Standing

WAITING_DAYS = 14.0
"""Days without meeting any tune of a tuning after which a change is offered (own choice)."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """Tunes of a tuning the instrument is not in."""

    tuning: str
    tunes: int
    days: float


def choose_tuning(standing: Standing, usable: NDArray[np.bool_], instrument: str) -> str:
    """Return the tuning of the round: the instrument's if it has anything to ask, else the best.

    Args:
        standing: The repertoire.
        usable: (T,) tunes that may be asked in this round.
        instrument: Tuning the instrument stands in, as letters.
    """
    present = {standing.tuning[place] for place in np.flatnonzero(usable)}
    if not present or instrument in present:
        return instrument
    return max(sorted(present), key=lambda tuning: _worth(standing, usable, tuning))


def waiting_tunings(
    standing: Standing, usable: NDArray[np.bool_], tuning: str, now: float
) -> tuple[Waiting, ...]:
    """Return the other tunings whose tunes have waited too long, longest first.

    Args:
        standing: The repertoire.
        usable: (T,) tunes that may be asked in this round.
        tuning: The tuning of the round.
        now: Days on the model's scale.
    """
    waits: list[Waiting] = []
    for other in sorted({standing.tuning[place] for place in np.flatnonzero(usable)} - {tuning}):
        places = [p for p in np.flatnonzero(usable) if standing.tuning[p] == other]
        met = standing.last_met[places]
        since = now - np.nanmax(met) if np.isfinite(met).any() else np.inf
        if since >= WAITING_DAYS:
            tunes = sum(not standing.is_join(int(p)) for p in places)
            waits.append(Waiting(other, tunes, float(since)))
    return tuple(sorted(waits, key=lambda w: (-w.days, w.tuning)))


def _worth(standing: Standing, usable: NDArray[np.bool_], tuning: str) -> float:
    values = [
        standing.value[p].max() for p in np.flatnonzero(usable) if standing.tuning[p] == tuning
    ]
    return float(sum(sorted(values, reverse=True)[:8]))
