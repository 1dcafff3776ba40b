"""The player's own parameters, from the player's own checks.

Maximum a posteriori on the one-step-ahead likelihood of every level given. The information
matrix is the sum of outer products of the scores of single checks (Berndt, Hall, Hall & Hausman
1974, Annals of Economic and Social Measurement 3, 653-665) plus the precision of the prior;
steps are damped as Marquardt (1963, J. SIAM 11, 431-441) proposed. Scores are forward
differences: every trial value goes through the same batch, one row each.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.parameters import PRIOR, Parameters
from tunememory.memory.track import Track

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.memory.arrays import Bools, Floats, Ints
    from tunememory.memory.events import Event
    from tunememory.memory.start import Entry


@dataclass(frozen=True, slots=True)
class Fitted:
    """A player's parameters as fitted.

    Attributes:
        parameters: Most probable values.
        names: Fitted parameters, in the order of ``covariance``.
        covariance: (n, n) posterior covariance on the working scales (``to_working``).
        checks: How many levels it rests on.
        steps: Steps taken.
    """

    parameters: Parameters
    names: tuple[str, ...]
    covariance: Floats
    checks: int
    steps: int


@dataclass(frozen=True, slots=True)
class Refit:
    """A fit and how it did on checks it had not seen.

    Attributes:
        fitted: Rests on the earlier checks only.
        won: Log chance of the later levels under it, less the same under the parameters in use.
        held_out: How many later levels there were.
    """

    fitted: Fitted
    won: float
    held_out: int

    @property
    def better(self) -> bool:
        """Whether to take it into use."""
        return self.won > 0.0 and self.held_out >= LEAST_HELD_OUT


@dataclass(frozen=True, slots=True)
class _Prior:
    """Normal on a working scale.

    ``"log"`` of a positive, ``"minus log"`` of a negative, ``"logit"`` of a share, ``"as is"``.
    """

    scale: str
    sd: float


PRIORS = {
    "slope": _Prior("log", 0.35),
    "just_learned": _Prior("as is", 1.0),
    "declared_sd": _Prior("log", 0.3),
    "strand_sd": _Prior("log", 0.35),
    "start": _Prior("as is", 0.3),
    "name": _Prior("as is", 0.3),
    "gain": _Prior("log", 0.45),
    "gain_power": _Prior("log", 0.4),
    "gain_floor": _Prior("log", 0.6),
    "gain_wane": _Prior("log", 1.0),
    "gain_failed": _Prior("as is", 0.2),
    "gain_noise": _Prior("log", 0.5),
    "same_day": _Prior("logit", 0.7),
    "spill": _Prior("logit", 0.8),
    "haste": _Prior("log", 1.0),
    "join_in": _Prior("minus log", 0.35),
    "kick_off": _Prior("log", 0.3),
    "lapse": _Prior("logit", 0.7),
}
"""Width of the prior about ``PRIOR``; sources as for the values. Others are not fitted."""

ENOUGH_CHECKS = 300
"""Checks before a first fit is worth trying, and between one try and the next."""

LEAST_HELD_OUT = 40
"""Levels a fit must have been tried on."""

_HELD_OUT = 0.2
"""Share of the checks, the latest, kept from the fit."""

_NOTHING = 1e-9
"""Stands for 0 where a logarithm is taken."""

_STEP = 1e-4
_MOST_STEPS = 12
_ENOUGH = 0.02
"""A step that promises less than this in log posterior ends the search."""


def to_working(params: Parameters, names: Sequence[str] = tuple(PRIORS)) -> Floats:
    """Values of ``names`` on the scales they are fitted on."""
    return np.array([_forth(PRIORS[n].scale, getattr(params, n)) for n in names])


def from_working(
    values: Floats, names: Sequence[str] = tuple(PRIORS), base: Parameters = PRIOR
) -> Parameters:
    """Inverse of ``to_working``; the other parameters are those of ``base``."""
    changed = {n: _back(PRIORS[n].scale, float(v)) for n, v in zip(names, values, strict=True)}
    return replace(base, **changed)


def log_likelihood(
    entries: Sequence[Entry], histories: Sequence[Sequence[Event]], params: Parameters
) -> tuple[float, int]:
    """Log chance of the levels given, each foretold by all before it.

    Returns:
        Natural logarithm, and how many levels it sums over.
    """
    total, count = 0.0, 0
    one = np.zeros(len(entries), dtype=np.int64)
    for _, _, found, levels in Track(entries, histories).run([params], one):
        total += float(found.sum())
        count += int(levels.sum())
    return total, count


def fit(
    entries: Sequence[Entry],
    histories: Sequence[Sequence[Event]],
    names: Sequence[str] = tuple(PRIORS),
) -> Fitted:
    """Return the most probable parameters of one player.

    Args:
        entries: T tunes as they came in.
        histories: T histories, oldest first.
        names: Which to fit; the others stay at ``PRIOR``.
    """
    return fit_players(entries, histories, np.zeros(len(entries), dtype=np.int64), names)[0]


def fit_players(
    entries: Sequence[Entry],
    histories: Sequence[Sequence[Event]],
    player: Ints,
    names: Sequence[str] = tuple(PRIORS),
    until: Floats | None = None,
) -> list[Fitted]:
    """Fit several players in one batch.

    Args:
        entries: T tunes as they came in.
        histories: T histories, oldest first.
        player: (T,) owner of each tune, from 0.
        names: Which to fit; the others stay at ``PRIOR``.
        until: For each player, day from which on levels are left out.
    """
    names = tuple(names)
    track = Track(entries, histories)
    players = int(player.max()) + 1 if len(player) else 1
    centre = to_working(PRIOR, names)
    precision = np.diag([1.0 / PRIORS[name].sd ** 2 for name in names])
    here = np.tile(centre, (players, 1))
    trial = here.copy()
    best = np.full(players, -math.inf)
    gradient = np.zeros(here.shape)
    information = np.tile(precision, (players, 1, 1))
    damping = np.full(players, 1e-3)
    searching = np.ones(players, dtype=np.bool_)
    steps = np.zeros(players, dtype=np.int64)
    checks = np.zeros(players, dtype=np.int64)
    for _ in range(_MOST_STEPS):
        value, slope, outer, levels = _scores(track, player, searching, trial, names, until)
        checks = np.where(searching, levels, checks)
        away = trial - centre
        value -= 0.5 * np.einsum("pi,ij,pj->p", away, precision, away)
        better = searching & (value > best)
        best[better] = value[better]
        here[better] = trial[better]
        gradient[better] = (slope - away @ precision)[better]
        information[better] = (outer + precision)[better]
        damping = np.where(better, 0.2 * damping, 8.0 * damping)
        steps += better
        diagonal = np.einsum("pii->pi", information)
        damped = information + damping[:, None, None] * (np.eye(len(names)) * diagonal[:, None])
        step = np.linalg.solve(damped, gradient[:, :, None])[:, :, 0]
        searching &= np.einsum("pi,pi->p", gradient, step) > _ENOUGH
        if not searching.any():
            break
        # No step beyond two prior deviations at once: the quadratic is not trusted that far.
        reach = np.abs(step * np.sqrt(np.diag(precision))).max(axis=1, keepdims=True)
        trial = here + step / np.maximum(reach / 2.0, 1.0)
    return [
        Fitted(
            parameters=from_working(here[p], names),
            names=names,
            covariance=np.linalg.inv(information[p]),
            checks=int(checks[p]),
            steps=int(steps[p]),
        )
        for p in range(players)
    ]


def refit(
    entries: Sequence[Entry],
    histories: Sequence[Sequence[Event]],
    current: Parameters,
    names: Sequence[str] = tuple(PRIORS),
) -> Refit:
    """Fit one player on the earlier checks and try it on the later ones.

    Args:
        entries: T tunes as they came in.
        histories: T histories, oldest first.
        current: Parameters in use.
        names: Which to fit; the others stay at ``PRIOR``.
    """
    one = np.zeros(len(entries), dtype=np.int64)
    return refit_players(entries, histories, one, [current], names)[0]


def refit_players(
    entries: Sequence[Entry],
    histories: Sequence[Sequence[Event]],
    player: Ints,
    current: Sequence[Parameters],
    names: Sequence[str] = tuple(PRIORS),
) -> list[Refit]:
    """``refit`` for several players in one batch; ``player`` (T,) is the owner of each tune."""
    players = len(current)
    moments: list[list[float]] = [[] for _ in range(players)]
    for owner, history in zip(player, histories, strict=True):
        moments[owner].extend(event.at for event in history)
    cut = np.array([np.quantile(at, 1.0 - _HELD_OUT) if at else 0.0 for at in moments])
    fitted = fit_players(entries, histories, player, names, until=cut)
    pairs = [p for q in range(players) for p in (current[q], fitted[q].parameters)]
    won: list[list[float]] = [[] for _ in range(players)]
    levels = np.zeros(players, dtype=np.int64)
    for tunes, _, found, rated in Track(entries, histories).run(pairs, player, since=cut):
        for owner, gain, count in zip(player[tunes], found[:, 1] - found[:, 0], rated, strict=True):
            if count:
                won[owner].append(float(gain))
                levels[owner] += count
    return [Refit(fitted[q], float(np.sum(won[q])), int(levels[q])) for q in range(players)]


def _scores(
    track: Track,
    player: Ints,
    searching: Bools,
    trial: Floats,
    names: Sequence[str],
    until: Floats | None,
) -> tuple[Floats, Floats, Floats, Ints]:
    """Log likelihood (P,), its gradient (P, n), outer products (P, n, n) and levels (P,)."""
    players, n = trial.shape
    nudged = trial[:, None, :] + _STEP * np.vstack([np.zeros(n), np.eye(n)])
    candidates = [from_working(values, names) for values in nudged.reshape(-1, n)]
    value = np.zeros(players)
    slope = np.zeros((players, n))
    outer = np.zeros((players, n, n))
    levels = np.zeros(players, dtype=np.int64)
    chosen = np.flatnonzero(searching[player])
    for tunes, _, found, rated in track.run(candidates, player, until=until, tunes=chosen):
        owner = player[tunes]
        score = (found[:, 1:] - found[:, :1]) / _STEP
        np.add.at(value, owner, found[:, 0])
        np.add.at(slope, owner, score)
        np.add.at(outer, owner, score[:, :, None] * score[:, None, :])
        np.add.at(levels, owner, rated)
    return value, slope, outer, levels


def _forth(scale: str, value: float) -> float:
    if scale == "as is":
        return value
    if scale == "logit":
        return math.log(value / (1.0 - value))
    return math.log(max(-value if scale == "minus log" else value, _NOTHING))


def _back(scale: str, value: float) -> float:
    if scale == "as is":
        return value
    if scale == "logit":
        return 1.0 / (1.0 + math.exp(-value))
    return -math.exp(value) if scale == "minus log" else math.exp(value)
