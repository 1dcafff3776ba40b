"""The player's own parameters, from the player's own checks.

Maximum a posteriori on the one-step-ahead likelihood of every level given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.bayes import FAST
from tunememory.memory.climbing import Climb
from tunememory.memory.parameters import PRIOR, Parameters
from tunememory.memory.track import Track

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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

    def ranges(self, width: float) -> dict[str, tuple[float, float]]:
        """Ends of the middle ``width`` of what each fitted parameter may be (Laplace)."""
        reach = NormalDist().inv_cdf(0.5 + width / 2.0) * np.sqrt(np.diag(self.covariance))
        middle = to_working(self.parameters, self.names)
        low, high = (from_working(middle + way * reach, self.names) for way in (-1.0, 1.0))
        ends = {name: (getattr(low, name), getattr(high, name)) for name in self.names}
        return {name: (min(pair), max(pair)) for name, pair in ends.items()}


@dataclass(frozen=True, slots=True)
class Refit:
    """A fit, and how one on the earlier checks alone did on those it had not seen.

    Attributes:
        tried: Rests on the earlier checks only.
        fitted: Rests on all checks if the other was better, else the same as ``tried``.
        won: Log chance of the later levels under ``tried``, less the same under the parameters
            in use.
        held_out: How many later levels there were.
    """

    tried: Fitted
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
"""Checks before a first fit is worth trying, and at least between one try and the next."""

LEAST_HELD_OUT = 40
"""Levels a fit must have been tried on."""

_HELD_OUT = 0.2
"""Share of the checks, the latest, kept from the fit."""

_NOTHING = 1e-9
"""Stands for 0 where a logarithm is taken."""

_SAMPLE = 4000
"""Events looked at to come near, where there are several times as many."""


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
    for _, found, levels in Track(entries, histories).run([params], one):
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
    players = int(player.max()) + 1 if len(player) else 1
    return _Players(Track(entries, histories), player, tuple(names), until).from_prior(players)


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
    track, names = Track(entries, histories), tuple(names)
    moments: list[list[float]] = [[] for _ in range(players)]
    for owner, history in zip(player, histories, strict=True):
        moments[owner].extend(event.at for event in history)
    cut = np.array([np.quantile(at, 1.0 - _HELD_OUT) if at else 0.0 for at in moments])
    tried = _Players(track, player, names, cut).from_prior(players)
    pairs = [p for q in range(players) for p in (current[q], tried[q].parameters)]
    won, levels = np.zeros(players), np.zeros(players, dtype=np.int64)
    for tunes, found, rated in track.run(pairs, player, since=cut):
        np.add.at(won, player[tunes], found[:, 1] - found[:, 0])
        np.add.at(levels, player[tunes], rated)
    results = [Refit(tried[q], tried[q], float(won[q]), int(levels[q])) for q in range(players)]
    better = np.array([one.better for one in results])
    if better.any():
        start = np.array([to_working(one.parameters, names) for one in tried])
        final = _Players(track, player, names, None).from_near(start, better)
        results = [
            replace(one, fitted=whole) if one.better else one
            for one, whole in zip(results, final, strict=True)
        ]
    return results


class _Players:
    """Some players' histories, to be fitted from one start or another."""

    def __init__(
        self, track: Track, player: Ints, names: tuple[str, ...], until: Floats | None
    ) -> None:
        self._track, self._player, self._names, self._until = track, player, names, until
        self._centre = to_working(PRIOR, names)
        sd = np.array([PRIORS[name].sd for name in names])
        self._climb = Climb(self._run, self._centre, sd**-2.0)

    def from_prior(self, players: int) -> list[Fitted]:
        """Fit all, with many events first to some of the tunes."""
        start = np.tile(self._centre, (players, 1))
        everyone = np.ones(players, dtype=np.bool_)
        few = self._track.sample(self._player, _SAMPLE)
        if few is not None:
            start = self._climb.up(start, everyone, few).values
        return self.from_near(start, everyone)

    def from_near(self, start: Floats, wanted: Bools) -> list[Fitted]:
        """Fit the ``wanted`` players (P,) from ``start`` (P, n); the others stay there."""
        top = self._climb.up(start, wanted, np.arange(len(self._player)))
        return [
            Fitted(
                parameters=from_working(top.values[p], self._names),
                names=self._names,
                covariance=np.linalg.inv(top.information[p]),
                checks=int(top.levels[p]),
                steps=int(top.steps[p]),
            )
            for p in range(len(start))
        ]

    def _run(
        self, trials: Floats, searching: Bools, tunes: Ints
    ) -> Iterator[tuple[Ints, Floats, Ints]]:
        params = [from_working(values, self._names) for own in trials for values in own]
        chosen = tunes[searching[self._player[tunes]]]
        for whose, found, rated in self._track.run(
            params, self._player, until=self._until, tunes=chosen, rule=FAST
        ):
            yield self._player[whose], found, rated


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
