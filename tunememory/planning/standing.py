"""What the planner knows of the repertoire: parallel arrays, one place a tune."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

HOW = 0
WHAT = 1
"""Columns of the two prompts wherever an array has one place for each."""

JOIN_SHARE = 0.2
"""Largest share of a round given to the joins of sets: the tunes themselves come first."""


@dataclass(frozen=True, slots=True)
class Standing:
    """The repertoire as it stands now, for T tunes.

    Attributes:
        uuids: T identities; ties are broken by this order, so it decides nothing else.
        tuning: T tunings as letters.
        root: (T,) pitch class of the root, -1 when unknown.
        kind: T kinds, empty when unknown.
        askable: (T, 2) whether How and What can be asked at all (resting and wanted: no).
        learning: (T,) in learning.
        new: (T,) in learning or met fewer than ``NEW_CHECKS`` times.
        favourite: (T,) weighs more.
        chance: (T,) chance of starting it now, 0 to 1.
        value: (T, 2) worth of asking now, in days callable (see ``value``).
        asked_today: (T,) asked in any round of today.
        put_off: (T,) "not today".
        last_met: (T,) days on the model's scale, nan when never.
        added: (T,) day ordinal it came in; older learning tunes go first.
        twins: Place of a tune to the places of tunes that begin alike.
        clash: Place to the places that may not be in the same round: one gives the other away.
        joins: How many places at the end are joins of sets, which are asked for like a tune but
            are none.
        date_days: (T,) days until the date that wants each, nan for none; ``None`` for no dates.
        date_gain: (T, 2) how much asking raises the chance on that day, nan where not wanted;
            ``None`` for no dates.
    """

    uuids: tuple[str, ...]
    tuning: tuple[str, ...]
    root: NDArray[np.int64]
    kind: tuple[str, ...]
    askable: NDArray[np.bool_]
    learning: NDArray[np.bool_]
    new: NDArray[np.bool_]
    favourite: NDArray[np.bool_]
    chance: NDArray[np.float64]
    value: NDArray[np.float64]
    asked_today: NDArray[np.bool_]
    put_off: NDArray[np.bool_]
    last_met: NDArray[np.float64]
    added: NDArray[np.int64]
    twins: dict[int, frozenset[int]] = field(default_factory=dict)
    clash: dict[int, frozenset[int]] = field(default_factory=dict)
    joins: int = 0
    date_days: NDArray[np.float64] | None = None
    date_gain: NDArray[np.float64] | None = None

    def is_join(self, place: int) -> bool:
        """Whether a place is a join."""
        return place >= len(self.uuids) - self.joins


NEW_CHECKS = 6
"""Checks below which a tune counts as new to its twins (own choice)."""


@dataclass(frozen=True, slots=True)
class Pick:
    """One prompt of a planned round.

    Attributes:
        place: Place of the tune in ``Standing``.
        prompt: ``HOW`` or ``WHAT``.
        why: Plain reason, shown on demand.
    """

    place: int
    prompt: int
    why: str


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds this player needs for one check of each prompt, question to level.

    The defaults are the 10 to 15 seconds a start takes (common practice, no source).
    """

    how: float = 15.0
    what: float = 11.0

    def of(self, prompt: int) -> float:
        """Seconds for ``HOW`` or ``WHAT``."""
        return self.how if prompt == HOW else self.what
