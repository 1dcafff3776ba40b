"""How boldly to plan, tried on the player's own memory as it is believed to be.

Two ways of choosing what to ask each do best for another sort of memory, or another load: to
keep all tunes callable as evenly as can be, or to leave the weakest and build up those that
grow. Which it is for this player is found by living half a year ahead with each, with the same
luck, and counting the tunes that come.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.gain import ask_value, asking
from tunememory.memory.parameters import side_by_side
from tunememory.planning.living import ask, chances, joined, thinned

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tunememory.memory.belief import Beliefs
    from tunememory.memory.parameters import Parameters
    from tunememory.planning.forecast import Habits

FOCUSES = (0.0, 1.0, 2.0)
"""What is tried; the first is used until another is clearly better."""

CLEARLY = 0.012
"""Share of tunes callable by which another must be ahead of the first to be taken up (chosen on
simulated players: where the first is truly better, the model rarely says otherwise by more)."""

STILL = 0.003
"""Share by which one in use must be ahead of the first to stay, and another ahead of it to take
its place: the model sees less of the difference than there is."""

MOST_TUNES = 200
"""A larger repertoire is stood for by so many of its tunes, with their share of the checks."""

_DAYS = 180
_STEP = 4
_LIVES = 4
_LUCK = 64
"""Draws of luck kept for each tune; a tune asked oftener meets the same again."""


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """What came of trying.

    Attributes:
        focus: The one to use.
        callable: Tunes that would come on an average day, for each of ``FOCUSES``.
    """

    focus: float
    callable: tuple[float, ...]


def rehearse(
    now: Beliefs, at: float, params: Parameters, habits: Habits, rng: np.random.Generator
) -> Rehearsed:
    """Try every focus on this player.

    Args:
        now: One strand of each of T tunes (``forecast.deciding``).
        at: Days since the epoch.
        params: The player's parameters; their ``focus`` is the one in use.
        habits: What the player does; no new tunes come in.
        rng: Source of chance.
    """
    few, share = thinned(now, MOST_TUNES)
    if not len(few.mean):
        return Rehearsed(FOCUSES[0], (0.0,) * len(FOCUSES))
    each = [replace(params, focus=focus) for focus in FOCUSES for _ in range(_LIVES)]
    lives, tunes = len(each), len(few.mean)
    own = side_by_side([one for one in each for _ in range(tunes)])
    beliefs = joined([few] * lives)
    luck = _Luck(rng, tunes)
    checks = share * habits.checks_a_day
    room = min(max(round(checks * habits.days * _STEP), 1), tunes)
    spread = np.arange(room) * _STEP // room
    counted = np.zeros(lives)
    for day in range(0, _DAYS, _STEP):
        keeping, growing = (
            part.reshape(lives, tunes, 1) for part in asking(beliefs, at + day, own)
        )
        worth = ask_value(keeping, growing, max(1, round(checks)))[..., 0]
        chosen = np.argsort(-worth, axis=1, kind="stable")[:, :room]
        rows = (np.arange(lives)[:, None] * tunes + chosen).ravel()
        days = np.tile(spread, lives) + day
        normal, uniform = luck.of(rows)
        ask(
            beliefs,
            rows,
            at + days.astype(np.float64),
            int(at) + days,
            own,
            normal=normal,
            uniform=uniform,
        )
        counted += chances(beliefs, at + day + _STEP, own).reshape(lives, tunes).sum(axis=1)
    callable_ = counted.reshape(len(FOCUSES), _LIVES).mean(axis=1) / (_DAYS / _STEP) / share
    kept = _kept(callable_ / callable_[0] - 1.0, params.focus)
    return Rehearsed(kept, tuple(float(one) for one in callable_))


def _kept(ahead: NDArray[np.float64], in_use: float) -> float:
    best = int(np.argmax(ahead))
    used = FOCUSES.index(in_use) if in_use in FOCUSES else 0
    if used and ahead[used] > STILL:
        return FOCUSES[best] if ahead[best] > ahead[used] + STILL else in_use
    return FOCUSES[best] if ahead[best] > CLEARLY else FOCUSES[0]


class _Luck:
    """The k-th check of a tune meets the same luck whatever the focus."""

    def __init__(self, rng: np.random.Generator, tunes: int) -> None:
        self._normal = rng.standard_normal((_LIVES, tunes, _LUCK))
        self._uniform = rng.random((_LIVES, tunes, _LUCK))
        self._met = np.zeros(len(FOCUSES) * _LIVES * tunes, dtype=np.int64)
        self._tunes = tunes

    def of(self, rows: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        life, tune = np.divmod(rows, self._tunes)
        place = (life % _LIVES, tune, self._met[rows] % _LUCK)
        self._met[rows] += 1
        return self._normal[place], self._uniform[place]
