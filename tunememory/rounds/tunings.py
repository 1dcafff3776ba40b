"""Which tuning to stay in: the one the instrument stands in, unless others have waited."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tunememory.rounds.candidates import Candidates


WAITING_DAYS = 14.0
"""Days without meeting any tune of a tuning after which a change is offered (own choice)."""

WANTED_DAYS = 3.0
"""The same where a date that is near wants some of its tunes: a check does most for a date when a
few days lie between (own choice)."""

WANTED_GAIN = 0.25
"""By how much, summed over its strands, a check must raise the chance of one of them on the day:
tuning the strings over costs minutes (own choice)."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """Tunes of a tuning the instrument is not in.

    Attributes:
        tuning: The tuning, as letters.
        tunes: How many wait; only those a date wants where one does.
        days: Since any of its tunes was met.
        date_in: Days until a date that wants them, ``None`` where none is near.
    """

    tuning: str
    tunes: int
    days: float
    date_in: int | None = None


def choose_tuning(candidates: Candidates, usable: NDArray[np.bool_], instrument: str) -> str:
    """Return the tuning of the round: the instrument's if it has anything to ask, else the best.

    Args:
        candidates: The repertoire.
        usable: (T,) tunes that may be asked in this round.
        instrument: Tuning the instrument stands in, as letters.
    """
    present = {candidates.tuning[place] for place in np.flatnonzero(usable)}
    if not present or instrument in present:
        return instrument
    return max(sorted(present), key=lambda tuning: _worth(candidates, usable, tuning))


def waiting_tunings(
    candidates: Candidates, usable: NDArray[np.bool_], tuning: str, now: float
) -> tuple[Waiting, ...]:
    """Return the other tunings whose tunes have waited too long: for a date first.

    Args:
        candidates: The repertoire.
        usable: (T,) tunes that may be asked in this round.
        tuning: The tuning of the round.
        now: Days on the model's scale.
    """
    waits: list[Waiting] = []
    wanted = _wanted(candidates)
    for other in sorted({candidates.tuning[place] for place in np.flatnonzero(usable)} - {tuning}):
        places = [p for p in np.flatnonzero(usable) if candidates.tuning[p] == other]
        met = candidates.last_met[places]
        since = float(now - np.nanmax(met)) if np.isfinite(met).any() else np.inf
        dated = [p for p in places if np.isfinite(wanted[p])]
        if dated and since >= WANTED_DAYS:
            waits.append(Waiting(other, len(dated), since, int(wanted[dated].min())))
        elif since >= WAITING_DAYS:
            tunes = sum(not candidates.is_join(int(p)) for p in places)
            waits.append(Waiting(other, tunes, since))
    return tuple(sorted(waits, key=_place))


def _wanted(candidates: Candidates) -> NDArray[np.float64]:
    """(T,) days until a date that is near wants a tune which a check would help there, else nan."""
    tunes = np.arange(len(candidates.uuids)) < len(candidates.uuids) - candidates.joins
    if candidates.date_days is None or candidates.date_gain is None:
        return np.full(len(tunes), np.nan)
    helps = np.nan_to_num(candidates.date_gain).max(axis=1) >= WANTED_GAIN
    return np.where(tunes & helps, candidates.date_days, np.nan)


def _place(waits: Waiting) -> tuple[bool, int, float, str]:
    """What is wanted soonest comes first, then what waited longest."""
    return waits.date_in is None, waits.date_in or 0, -waits.days, waits.tuning


def _worth(candidates: Candidates, usable: NDArray[np.bool_], tuning: str) -> float:
    values = [
        candidates.value[p].max() for p in np.flatnonzero(usable) if candidates.tuning[p] == tuning
    ]
    return float(sum(sorted(values, reverse=True)[:8]))
