"""The player's own parameters, from the player's own checks.

Maximum a posteriori on the one-step-ahead likelihood of every level given.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from tunememory.recall.belief import Entry, first_beliefs
from tunememory.recall.parameters import (
    PRIOR,
    PRIORS,
    Parameters,
    from_working,
    side_by_side,
    to_working,
)
from tunememory.recall.update import EXACT, FAST, EventRows, Rule, advance, event_rows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tunememory.recall.forgetting import Bools, Floats, Ints
    from tunememory.recall.update import Event

    Run = Callable[[Floats, Bools, Ints], Iterator[tuple[Ints, Floats, Ints]]]


ENOUGH_CHECKS = 300
"""Checks before a first fit is worth trying, and at least between one try and the next."""

LEAST_HELD_OUT = 40
"""Levels a fit must have been tried on."""

_HELD_OUT = 0.2
"""Share of the checks, the latest, kept from the fit."""

_SAMPLE = 4000
"""Events looked at to come near, where there are several times as many."""

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
class Maximum:
    """Where the search ended, for P players and n values.

    Attributes:
        values: (P, n).
        information: (P, n, n) of the posterior, seen at the last step.
        levels: (P,) how many levels it rests on.
    """

    values: Floats
    information: Floats
    levels: Ints


class Scoring:
    """Finds the most probable values by Fisher's scoring.

    Outer products of the scores stand for the information (Berndt, Hall, Hall & Hausman 1974,
    Annals of Economic and Social Measurement 3, 653-665), and steps are damped (Marquardt 1963).

    Args:
        run: Takes trial values (P, M, n), which players are searching (P,) and which tunes to
            look at. For some events, N of them, it yields their players (N,), log chances of
            their levels under each trial (N, M), and how many levels they had (N,).
        centre: (n,) means of the prior.
        precision: (n,) its inverse variances.
    """

    def __init__(self, run: Run, centre: Floats, precision: Floats) -> None:
        self._run, self._centre, self._precision = run, centre, precision

    def maximum(self, start: Floats, wanted: Bools, tunes: Ints) -> Maximum:
        """Search for the ``wanted`` players (P,) from ``start`` (P, n) on some ``tunes``."""
        here, searching = start.copy(), wanted.copy()
        players = len(here)
        information = np.tile(np.diag(self._precision), (players, 1, 1))
        damping = np.full(players, _DAMPING)
        levels = np.zeros(players, dtype=np.int64)
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
            searching &= ~left & (promised > _LAST)
            if not searching.any():
                break
        return Maximum(here, information, levels)

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


_BLOCK = 4000
"""Rows advanced together, so that the nodes of one strand stay in the cache."""


class Track:
    """Histories of T tunes, laid out so that the k-th events of many tunes run together."""

    def __init__(self, entries: Sequence[Entry], histories: Sequence[Sequence[Event]]) -> None:
        if len(entries) != len(histories):
            raise ValueError(f"{len(entries)} tunes but {len(histories)} histories")
        self._entries = entries
        self._length = np.array([len(history) for history in histories], dtype=np.int64)
        self._columns = max((max(e.columns, default=-1) + 1 for e in entries), default=0)
        self._begin = np.concatenate([[0], np.cumsum(self._length)])
        self._tune = np.repeat(np.arange(len(entries)), self._length)
        self._events = event_rows([e for history in histories for e in history], self._columns)

    def run(
        self,
        candidates: Sequence[Parameters],
        player: Ints,
        since: Floats | None = None,
        until: Floats | None = None,
        tunes: Ints | None = None,
        rule: Rule = EXACT,
    ) -> Iterator[tuple[Ints, Floats, Ints]]:
        """Foretell every event under several parameters.

        Args:
            candidates: M for each player, those of player 0 first.
            player: (T,) owner of each tune, from 0.
            since: For each player, day before which levels count for nothing.
            until: For each player, day from which on levels count for nothing.
            tunes: Which tunes; all when ``None``.
            rule: How to work out expectations.

        Yields:
            For some tunes all their events that count, N of them: the tune of each (N,), log
            chance of its levels (N, M), and how many levels it had (N,).
        """
        if not len(self._length):
            return
        players = int(player.max()) + 1
        many = len(candidates) // players
        begin_at = np.full(players, -np.inf) if since is None else since
        end_at = np.full(players, np.inf) if until is None else until
        at, owner = self._events.at, player[self._tune]
        counts = (at >= begin_at[owner]) & (at < end_at[owner])
        length = self._needed(counts)
        chosen = np.arange(len(length)) if tunes is None else tunes
        chosen = chosen[np.argsort(-length[chosen], kind="stable")]
        all_parameters = side_by_side(candidates)
        block = max(_BLOCK // many, 1)
        for begin in range(0, len(chosen), block):
            some = chosen[begin : begin + block]
            which = (player[some][:, None] * many + np.arange(many)).ravel()
            params = all_parameters.of_rows(which)
            event, found, rated = self._block(some, length[some], params, many, rule)
            kept = counts[event]
            yield self._tune[event[kept]], found[kept], rated[kept]

    def sample(self, player: Ints, events: int) -> Ints | None:
        """Return tunes that make up about so many events of each player, short and long alike.

        Args:
            player: (T,) owner of each tune, from 0.
            events: How many events of a player are enough.

        Returns:
            Indices of tunes; ``None`` if that would be most of them.
        """
        chosen = []
        for own in (np.flatnonzero(player == p) for p in np.unique(player)):
            step = max(int(self._length[own].sum()) // max(events, 1), 1)
            chosen.append(own[np.argsort(self._length[own], kind="stable")][step // 2 :: step])
        found = np.concatenate(chosen) if chosen else player
        return found if 2 * self._length[found].sum() <= self._length.sum() else None

    def _needed(self, counts: Bools) -> Ints:
        """(T,) how many events of each tune come up to the last that counts."""
        length = np.zeros_like(self._length)
        place = np.arange(len(counts)) - self._begin[self._tune]
        np.maximum.at(length, self._tune[counts], place[counts] + 1)
        return length

    def _block(
        self, tunes: Ints, length: Ints, params: Parameters, many: int, rule: Rule
    ) -> tuple[Ints, Floats, Ints]:
        # Candidates lie next to each other within a tune: the tunes that still have a k-th
        # event are then the first rows, as views.
        beliefs = first_beliefs([self._entries[t] for t in tunes for _ in range(many)], params)
        columns = beliefs.mean.shape[1]
        event, found, rated = [tunes[:0]], [np.zeros((0, many))], [tunes[:0]]
        for k in range(int(length[0])):
            active = int(np.searchsorted(-length, -k, side="left"))
            now = self._begin[tunes[:active]] + k
            own = params.of_rows(slice(0, active * many))
            rows = self._rows(np.repeat(now, many), columns)
            said = advance(beliefs.first(active * many), rows, own, rule)
            levels = ~np.isnan(said.likelihood)
            each = np.log(np.where(levels, said.likelihood, 1.0)).sum(axis=1)
            event.append(now)
            found.append(each.reshape(active, many))
            rated.append(levels[::many].sum(axis=1))
        return np.concatenate(event), np.concatenate(found), np.concatenate(rated)

    def _rows(self, index: Ints, columns: int) -> EventRows:
        every = self._events
        return EventRows(
            at=every.at[index],
            day=every.day[index],
            level=every.level[index, :columns],
            exposed=every.exposed[index, :columns],
            minutes=every.minutes[index],
        )


@dataclass(frozen=True, slots=True)
class Fitted:
    """A player's parameters as fitted.

    Attributes:
        parameters: Most probable values.
        names: Fitted parameters, in the order of ``covariance``.
        covariance: (n, n) posterior covariance on the working scales (``to_working``).
        checks: How many levels it rests on.
    """

    parameters: Parameters
    names: tuple[str, ...]
    covariance: Floats
    checks: int

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
        self._scoring = Scoring(self._run, self._centre, sd**-2.0)

    def from_prior(self, players: int) -> list[Fitted]:
        """Fit all, with many events first to some of the tunes."""
        start = np.tile(self._centre, (players, 1))
        everyone = np.ones(players, dtype=np.bool_)
        few = self._track.sample(self._player, _SAMPLE)
        if few is not None:
            start = self._scoring.maximum(start, everyone, few).values
        return self.from_near(start, everyone)

    def from_near(self, start: Floats, wanted: Bools) -> list[Fitted]:
        """Fit the ``wanted`` players (P,) from ``start`` (P, n); the others stay there."""
        found = self._scoring.maximum(start, wanted, np.arange(len(self._player)))
        return [
            Fitted(
                parameters=from_working(found.values[p], self._names),
                names=self._names,
                covariance=np.linalg.inv(found.information[p]),
                checks=int(found.levels[p]),
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


_LEVELS = (0.4, 1.1, 1.8)
"""Log days a new tune lasts: a sharp and a lasting memory are each tried for players with short
and with long memories, so that only the shape of forgetting tells them apart."""


def _of_slopes(slopes: tuple[float, ...]) -> tuple[Parameters, ...]:
    return tuple(
        replace(
            PRIOR,
            slope=slope,
            just_learned=level,
            declared_sd=1.4,
            gain=0.8,
            gain_power=0.65,
            gain_noise=0.12,
            kick_off=1.0,
        )
        for slope in slopes
        for level in _LEVELS
    )


SHARP = _of_slopes((0.75, 1.0))
LASTING = _of_slopes((0.3, 0.4))
"""Chosen on simulated players of four worlds unlike our model: these told the one that forgets
sharply from the three that do not in 91 of 100 pairs after 150 checks, 92 after 300."""


def sharpness(entries: Sequence[Entry], histories: Sequence[Sequence[Event]]) -> float:
    """Return the natural log of the odds that the checks of one player give for a sharp memory.

    Args:
        entries: T tunes as they came in.
        histories: T histories, oldest first.
    """
    one = np.zeros(len(entries), dtype=np.int64)
    return float(sharpness_of_players(entries, histories, one, 1)[0])


def sharpness_of_players(
    entries: Sequence[Entry], histories: Sequence[Sequence[Event]], player: Ints, players: int
) -> Floats:
    """``sharpness`` of several players in one batch: (P,); ``player`` (T,) owns each tune."""
    memories = (*SHARP, *LASTING)
    total = np.zeros((players, len(memories)))
    for tunes, found, _ in Track(entries, histories).run(memories * players, player, rule=FAST):
        np.add.at(total, player[tunes], found)
    many = len(SHARP)
    return _mean_likelihood(total[:, :many]) - _mean_likelihood(total[:, many:])


def _mean_likelihood(logs: Floats) -> Floats:
    top = logs.max(axis=1)
    return np.asarray(top + np.log(np.exp(logs - top[:, None]).mean(axis=1)))
