"""The search for the most probable values of several players' parameters.

The information matrix is the sum of outer products of the scores of single events (Berndt, Hall,
Hall & Hausman 1974, Annals of Economic and Social Measurement 3, 653-665) plus the precision of
the prior; steps are damped as Marquardt (1963, J. SIAM 11, 431-441) proposed. Scores are forward
differences: every trial value goes through the same batch, one row each.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tunememory.memory.arrays import Bools, Floats, Ints

    Run = Callable[[Floats, Bools, Ints], Iterator[tuple[Ints, Floats, Ints]]]

_STEP = 1e-4
_DAMPING = 1e-3
"""To begin with, and at least: otherwise a step that fails after many that did not is retried
hardly changed."""

_MOST_STEPS = 12
_MOST_TRIES = 5
_ENOUGH = 0.02
"""A step that promises less than half of this in log posterior is not taken."""

_LAST = 4.0
"""After a step that promised less than half of this no other is taken: the next promises about a
twentieth, which in 18 parameters is a tenth of a standard deviation each."""


@dataclass(frozen=True, slots=True, eq=False)
class Top:
    """Where a climb ended, for P players and n values.

    Attributes:
        values: (P, n).
        information: (P, n, n) of the posterior, seen at the last step.
        levels: (P,) how many levels it rests on.
        steps: (P,) steps taken.
    """

    values: Floats
    information: Floats
    levels: Ints
    steps: Ints


class Climb:
    """Climbs from any values to the most probable ones.

    Args:
        run: Takes trial values (P, M, n), which players are searching (P,) and which tunes to
            look at. For some events, N of them, it yields their players (N,), log chances of
            their levels under each trial (N, M), and how many levels they had (N,).
        centre: (n,) means of the prior.
        precision: (n,) its inverse variances.
    """

    def __init__(self, run: Run, centre: Floats, precision: Floats) -> None:
        self._run, self._centre, self._precision = run, centre, precision

    def up(self, start: Floats, wanted: Bools, tunes: Ints) -> Top:
        """Climb for the ``wanted`` players (P,) from ``start`` (P, n) on some ``tunes``."""
        here, searching = start.copy(), wanted.copy()
        players = len(here)
        information = np.tile(np.diag(self._precision), (players, 1, 1))
        damping = np.full(players, _DAMPING)
        steps, levels = np.zeros((2, players), dtype=np.int64)
        for _ in range(_MOST_STEPS):
            value, gradient, outer, rated = self._scores(here, searching, tunes)
            information[searching] = (outer + np.diag(self._precision))[searching]
            levels[searching] = rated[searching]
            step = self._step(gradient, information, damping)
            promised = np.einsum("pi,pi->p", gradient, step)
            searching &= promised > _ENOUGH
            left = searching.copy()
            for _ in range(_MOST_TRIES):
                if not left.any():
                    break
                trial = here + self._step(gradient, information, damping)
                won = left & (self._values(trial, left, tunes) > value)
                here[won] = trial[won]
                damping[left] *= np.where(won, 0.2, 8.0)[left]
                np.maximum(damping, _DAMPING, out=damping)
                left &= ~won
            steps += searching & ~left
            searching &= ~left & (promised > _LAST)
            if not searching.any():
                break
        return Top(here, information, levels, steps)

    def _step(self, gradient: Floats, information: Floats, damping: Floats) -> Floats:
        diagonal = np.einsum("pii->pi", information)[:, :, None]
        damped = information + damping[:, None, None] * diagonal * np.eye(gradient.shape[1])
        step = np.linalg.solve(damped, gradient[:, :, None])[:, :, 0]
        # No step beyond two prior deviations at once: the quadratic is not trusted that far.
        reach = np.abs(step * np.sqrt(self._precision)).max(axis=1, keepdims=True)
        return np.asarray(step / np.maximum(reach / 2.0, 1.0))

    def _values(self, trial: Floats, searching: Bools, tunes: Ints) -> Floats:
        """(P,) log posterior, but for a constant, of those searching."""
        value = self._prior(trial)
        for owner, found, _ in self._run(trial[:, None, :], searching, tunes):
            np.add.at(value, owner, found[:, 0])
        return value

    def _scores(
        self, here: Floats, searching: Bools, tunes: Ints
    ) -> tuple[Floats, Floats, Floats, Ints]:
        """Log posterior (P,), its gradient (P, n), outer products (P, n, n) and levels (P,)."""
        players, n = here.shape
        nudged = here[:, None, :] + _STEP * np.vstack([np.zeros(n), np.eye(n)])
        value = self._prior(here)
        slope = self._precision * (self._centre - here)
        outer = np.zeros((players, n, n))
        levels = np.zeros(players, dtype=np.int64)
        for owner, found, rated in self._run(nudged, searching, tunes):
            score = (found[:, 1:] - found[:, :1]) / _STEP
            for p in np.unique(owner):
                own = owner == p
                value[p] += found[own, 0].sum()
                slope[p] += score[own].sum(axis=0)
                outer[p] += score[own].T @ score[own]
                levels[p] += rated[own].sum()
        return value, slope, outer, levels

    def _prior(self, values: Floats) -> Floats:
        return np.asarray(-0.5 * np.square(values - self._centre) @ self._precision)
