"""How a check or an exposure changes a belief.

One kernel serves a single tune and a batch of many: every operation is elementwise over tunes,
and sums over nodes and strands run in a fixed order, so both give the same bits.

In each event, for each strand concerned, in this order: the unobserved stretch widens the
belief; the level is taken in by Bayes' rule and carried to the tune's other strands through
the covariance; then seeing the answer adds to x. When several strands are rated, all are taken
in before any learns. Growth after a success is larger the less likely success had been
(desirable difficulty; Cepeda et al. 2008; Pavlik & Anderson 2005), a failure adds ``gain_failed``
because the answer is then seen. On one practice day a strand grows once in full and once more
by the ``same_day`` share. What was met earlier on the day says by its level only whether it came:
how quickly it comes minutes after the answer was seen tells of the fingers, not of how long it
will last, and a tune found again in the last round would count against itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.recall.belief import Beliefs, TuneBelief, stack
from tunememory.recall.check import HINT_CAP
from tunememory.recall.forgetting import (
    NODES,
    WEIGHTS,
    elapsed_days,
    felt_days,
    lapsed,
    normal_nodes,
    widening,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tunememory.recall.forgetting import Bools, Floats, Ints
    from tunememory.recall.parameters import Curve, Parameters


_LOG2_E = 1.4426950408889634
_LN2_HIGH = 6.93147180369123816490e-01
_LN2_LOW = 1.90821492927058770002e-10
_EXP_TERMS = (
    1.66666666666666019037e-01,
    -2.77777777770155933842e-03,
    6.61375632143793436117e-05,
    -1.65339022054652515390e-06,
    4.13813679705723846039e-08,
)
_LOG_TERMS = (
    6.666666666666735130e-01,
    3.999999999940941908e-01,
    2.857142874366239149e-01,
    2.222219843214978396e-01,
    1.818357216161805012e-01,
    1.531383769920937332e-01,
    1.479819860511658591e-01,
)
_EXP_LIMIT = 230.0
_TO_INTEGER = 1.5 * 2.0**52
"""Added to a number, rounds it to an integer that then stands in the lowest bits."""


def exp(x: Floats) -> Floats:
    """Return e to the power ``x``, within 2 units in the last place.

    Reduction and rational approximation after the freely distributable C mathematical library
    of Sun Microsystems (1993), ``e_exp.c``. Arguments beyond ±230 are taken as ±230:
    odds of that size are certainties.
    """
    # In place throughout: most of the time of an update is spent here.
    rest = np.clip(x, -_EXP_LIMIT, _EXP_LIMIT)
    power = rest * _LOG2_E
    power += _TO_INTEGER
    bits = power.view(np.int64) << 52
    power -= _TO_INTEGER
    square = power * _LN2_HIGH
    rest -= square
    np.multiply(power, _LN2_LOW, out=square)
    rest -= square
    np.multiply(rest, rest, out=square)
    result = square * _EXP_TERMS[4]
    for term in _EXP_TERMS[3::-1]:
        result += term
        result *= square
    np.subtract(rest, result, out=result)
    divisor = 2.0 - result
    result *= rest
    result /= divisor
    result += rest
    result += 1.0
    scaled = result.view(np.int64)
    scaled += bits
    return result


def log(x: Floats) -> Floats:
    """Return the natural logarithm of positive, normal ``x``, within 2 units in the last place.

    Series after the same library, ``e_log.c``.
    """
    fraction, power = np.frexp(x)
    low = fraction < 0.7071067811865476
    fraction = np.where(low, 2.0 * fraction, fraction)
    power = np.where(low, power - 1, power).astype(np.float64)
    rest = fraction - 1.0
    s = rest / (2.0 + rest)
    square = s * s
    series = square * _LOG_TERMS[6]
    for term in _LOG_TERMS[5::-1]:
        series += term
        series *= square
    half_square = 0.5 * rest * rest
    tail = half_square - (s * (half_square + series) + power * _LN2_LOW)
    return np.asarray(power * _LN2_HIGH - (tail - rest))


SMALLEST_VARIANCE = 1e-6
"""Floor of a posterior variance, far below any reached in use."""

_UNHEARD_OF = 1e-12
"""Added to the chance of a middle level, so that none is ever impossible."""

_OPEN_END = 1e200
"""Stands for the cut above the highest level."""

FAILED, CAME = 4, 5
"""Outcomes of which only this much is known: level 1 or 2, level 3 or 4."""

_FEW = 64
"""Rows up to which running sums are the quicker way."""

_LIMIT = 230.0
"""Exponents stop here, as in the portable ``exp``."""


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """How expectations over x are worked out.

    Attributes:
        nodes: Of Gauss-Hermite quadrature, with ``weights``.
        weights: Sum to 1.
        exp: Exponential function.
        log: Natural logarithm.
        sums: Turns weights (n,) and values (n, R) into weighted sums (R,).
    """

    nodes: tuple[float, ...]
    weights: tuple[float, ...]
    exp: Callable[[Floats], Floats]
    log: Callable[[Floats], Floats]
    sums: Callable[[Floats, Floats], Floats]


def _in_order(weights: Floats, values: Floats) -> Floats:
    # One after the other: the order in which a library sums is its own affair, but not that of
    # running sums. They spare a single tune the loop, and are slower for many.
    if values.shape[1] <= _FEW:
        running: Floats = np.add.accumulate(weights[:, None] * values)[-1]
        return running
    total: Floats = np.zeros_like(values[0])
    for weight, value in zip(weights, values, strict=True):
        total += weight * value
    return total


def _fast_exp(x: Floats) -> Floats:
    return np.asarray(np.exp(np.minimum(x, _LIMIT)))


EXACT = Rule(NODES, WEIGHTS, exp, log, _in_order)
"""For beliefs that are kept or shown: the same bits on every machine."""

FAST = Rule(*normal_nodes(11), _fast_exp, np.log, np.matmul)
"""For searching among parameters."""


def posterior(
    mean: Floats,
    variance: Floats,
    log_time: Floats,
    y: Ints,
    params: Parameters | Curve,
    rule: Rule = EXACT,
) -> tuple[Floats, Floats, Floats]:
    """Condition x on the outcomes ``y`` (level - 1, 0 to 3).

    Args:
        mean: (R,) prior means of x.
        variance: (R,) prior variances, positive.
        log_time: (R,) logarithm of the felt days since exposure.
        y: (R,) outcomes, or ``FAILED`` or ``CAME``.
        params: The player's parameters.
        rule: How to work out the expectations.

    Returns:
        (R,) predictive chance of the outcome, posterior mean, posterior variance.
    """
    spread = np.sqrt(variance)
    inverse_odds = _inverse_odds(mean, spread, log_time, params, rule)
    # P(y >= k) = lapse/2 + (1-lapse)/(1 + e_k/odds); the chance of y is a difference of two.
    join_in, kick_off = (rule.exp(np.atleast_1d(cut)) for cut in (params.join_in, params.kick_off))
    lowest, middle = (y == 0) | (y == FAILED), (y == 1) | (y == FAILED)
    lower = np.where(lowest, 0.0, np.where(y == 1, join_in, np.where(y == 3, kick_off, 1.0)))
    upper = np.where(y == 0, join_in, np.where(middle, 1.0, np.where(y == 2, kick_off, _OPEN_END)))
    likelihood = 1.0 / (1.0 + inverse_odds * lower) - 1.0 / (1.0 + inverse_odds * upper)
    likelihood *= 1.0 - params.lapse
    likelihood += np.where((y == 1) | (y == 2), _UNHEARD_OF, 0.5 * params.lapse)
    nodes, weights = np.array(rule.nodes), np.array(rule.weights)
    total = rule.sums(weights, likelihood)
    first = rule.sums(weights * nodes, likelihood)
    second = rule.sums(weights * nodes * nodes, likelihood)
    first /= total
    second /= total
    after = np.maximum(variance * (second - first * first), SMALLEST_VARIANCE)
    return total, mean + spread * first, after


def success(
    mean: Floats,
    variance: Floats,
    log_time: Floats,
    params: Parameters | Curve,
    rule: Rule = EXACT,
) -> Floats:
    """(R,) chance of a level of 3 or 4, integrated over x; arguments as for ``posterior``."""
    inverse_odds = _inverse_odds(mean, np.sqrt(variance), log_time, params, rule)
    total = rule.sums(np.array(rule.weights), 1.0 / (1.0 + inverse_odds))
    return lapsed(total, params)


def _inverse_odds(
    mean: Floats, spread: Floats, log_time: Floats, params: Parameters | Curve, rule: Rule
) -> Floats:
    nodes = np.array(rule.nodes)[:, None]
    return rule.exp(params.slope * (log_time - mean) - nodes * (params.slope * spread))


@dataclass(frozen=True, slots=True)
class CheckEvent:
    """One answered prompt.

    Attributes:
        at: Days since the epoch.
        day: Ordinal of the practice day.
        levels: ``(column, level)`` pairs, level 1 to 4; a prompt rated as a whole gives every
            strand it asked for the same level.
        hints: Steps of hint shown; any hint caps the levels at 2.
        cold: First or loose round: nothing of the tune was heard just before.
    """

    at: float
    day: int
    levels: tuple[tuple[int, int], ...]
    hints: int = 0
    cold: bool = True


@dataclass(frozen=True, slots=True)
class ExposureEvent:
    """Strands played, heard or read without a level.

    Attributes:
        at: Days since the epoch, at its end.
        day: Ordinal of the practice day.
        columns: Strands concerned.
        minutes: How long, 0 or more; under a minute counts in proportion.
    """

    at: float
    day: int
    columns: tuple[int, ...]
    minutes: float


Event = CheckEvent | ExposureEvent


@dataclass(frozen=True, slots=True, eq=False)
class EventRows:
    """One event for each of R tunes, as arrays.

    Attributes:
        at: (R,) days since the epoch.
        day: (R,) ordinals of practice days.
        level: (R, F) levels 1 to 4, hint cap applied; 0 where not rated.
        exposed: (R, F) strands played without a level.
        minutes: (R,) how long they were played.
    """

    at: Floats
    day: Ints
    level: Ints
    exposed: Bools
    minutes: Floats


def after(belief: TuneBelief, event: Event, params: Parameters) -> TuneBelief:
    """Return the belief after ``event``; ``belief`` is left as it was.

    Levels of strands the tune does not have are passed over. An event before the last one (a
    clock set back) counts as no time passed.
    """
    batch = stack([belief])
    advance(batch, event_rows([event], belief.columns), params)
    return batch.tune(0)


def event_rows(events: Sequence[Event], columns: int) -> EventRows:
    """Lay one event for each of R tunes side by side, for tunes of F ``columns``."""
    rows = len(events)
    level = np.zeros((rows, columns), dtype=np.int64)
    exposed = np.zeros((rows, columns), dtype=np.bool_)
    minutes = np.zeros(rows)
    for row, event in enumerate(events):
        if isinstance(event, CheckEvent):
            cap = int(HINT_CAP) if event.hints > 0 else 4
            for column, given in event.levels:
                if column < columns:
                    level[row, column] = min(given, cap)
        else:
            minutes[row] = event.minutes
            for column in event.columns:
                if column < columns:
                    exposed[row, column] = True
    return EventRows(
        at=np.array([e.at for e in events], dtype=np.float64),
        day=np.array([e.day for e in events], dtype=np.int64),
        level=level,
        exposed=exposed,
        minutes=minutes,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Foretold:
    """What was said of an event just before it came; nan where nothing was rated.

    Attributes:
        chance: (R, F) chance of a level of 3 or 4.
        likelihood: (R, F) chance of the level that came, given the strands before it in the
            same event.
    """

    chance: Floats
    likelihood: Floats


def advance(beliefs: Beliefs, rows: EventRows, params: Parameters, rule: Rule = EXACT) -> Foretold:
    """Change ``beliefs`` in place by one event for each of its tunes."""
    meeting = _Meeting(beliefs, rows, params, rule)
    meeting.widen()
    chance, likelihood = meeting.take_in()
    meeting.learn(chance)
    return Foretold(chance.T, likelihood.T)


def advance_some(
    beliefs: Beliefs, tunes: Ints, rows: EventRows, params: Parameters, rule: Rule = EXACT
) -> Foretold:
    """``advance`` for some tunes alone, (N,) of them, each at most once.

    Args:
        beliefs: T tunes, changed in place where they are among ``tunes``.
        tunes: (N,) which.
        rows: One event for each of the N.
        params: The player's parameters, or of each of the T tunes.
        rule: How to work out expectations.
    """
    some = beliefs.rows(tunes)
    said = advance(some, rows, params.of_rows(tunes), rule)
    for name in ("mean", "cov", "exposed_at", "gained_day", "gains", "checks"):
        getattr(beliefs, name)[tunes] = getattr(some, name)
    return said


class _Meeting:
    """One event for each of R tunes on its way into their beliefs.

    Strands first, tunes last: parameters of single tunes (R,) then fit without a word.
    """

    def __init__(self, beliefs: Beliefs, rows: EventRows, params: Parameters, rule: Rule) -> None:
        self._beliefs, self._rows, self._params, self._rule = beliefs, rows, params, rule
        self._rated = (rows.level > 0) & beliefs.present
        self._touched = self._rated | (rows.exposed & beliefs.present)
        self._elapsed = elapsed_days(beliefs.exposed_at.T, rows.at)
        # How well it was known before: the level itself must not make it grow less.
        self._known = np.maximum(beliefs.mean.T - params.just_learned, 0.0)

    def widen(self) -> None:
        """Widen the belief about what is met, for the stretch nobody saw."""
        wider = widening(self._elapsed, self._params, self._rule.log)
        self._add_variance(np.where(self._touched.T, wider, 0.0))

    def take_in(self) -> tuple[Floats, Floats]:
        """Take in all levels; (F, R) chances said before any of them, and of what came."""
        beliefs, rows, params, rule = self._beliefs, self._rows, self._params, self._rule
        log_time = rule.log(felt_days(self._elapsed, params))
        chance = np.full(log_time.shape, np.nan)
        likelihood = np.full(log_time.shape, np.nan)
        asked = [(f, np.flatnonzero(self._rated[:, f])) for f in range(len(log_time))]
        asked = [(f, who) for f, who in asked if len(who)]
        for f, who in asked:
            variance = beliefs.cov[who, f, f]
            own = params.curve(who)
            chance[f, who] = success(beliefs.mean[who, f], variance, log_time[f, who], own, rule)
        for f, who in asked:
            y = rows.level[who, f] - 1
            again = (rows.day[who] == beliefs.gained_day[who, f]) & (beliefs.gains[who, f] > 0)
            y = np.where(again, np.where(y >= 2, CAME, FAILED), y)
            likelihood[f, who] = self._take_in_one(who, f, log_time[f, who], y)
        return chance, likelihood

    def _take_in_one(self, who: Ints, f: int, log_time: Floats, y: Ints) -> Floats:
        """Bayes step of strand ``f`` in the tunes ``who``, carried to their other strands."""
        beliefs = self._beliefs
        mean = beliefs.mean[who, f]
        variance = beliefs.cov[who, f, f]
        own = self._params.curve(who)
        said, new_mean, new_variance = posterior(mean, variance, log_time, y, own, self._rule)
        share = beliefs.cov[who, :, f] / variance[:, None]
        beliefs.mean[who] += share * (new_mean - mean)[:, None]
        change = share[:, :, None] * share[:, None, :]
        change *= (new_variance - variance)[:, None, None]
        beliefs.cov[who] += change
        beliefs.checks[who, f] += 1
        return said

    def learn(self, chance: Floats) -> None:
        """Let what was met grow, by (F, R) chances said before it, and a little what was not."""
        beliefs, rows, params = self._beliefs, self._rows, self._params
        asked, met = self._rated.T, self._touched.T
        earlier = np.where(rows.day == beliefs.gained_day.T, beliefs.gains.T, 0)
        left = np.where(earlier == 0, 1.0, np.where(earlier == 1, params.same_day, 0.0))
        # Playing without being asked is at most a repeat: nothing was called to mind.
        left = np.where(asked, left, np.minimum(left, params.same_day))
        gain = np.where(met, self._growth(chance) * left, 0.0)

        total = np.zeros(len(rows.at))
        count = np.zeros(len(rows.at))
        for f in range(len(gain)):
            total += gain[f]
            count += met[f]
        spilled = params.spill * total / np.maximum(count, 1.0)
        others = beliefs.present.T & ~met
        beliefs.mean[...] += np.where(met, gain, np.where(others, spilled, 0.0)).T
        self._add_variance(np.where(met, params.gain_noise * left, 0.0))

        # A check from before the tune came in, or a clock set back, does not undo a later meeting.
        touched = self._touched
        beliefs.exposed_at[touched] = np.fmax(beliefs.exposed_at, rows.at[:, None])[touched]
        beliefs.gains[touched] = np.minimum(earlier + 1, 2).T[touched]
        beliefs.gained_day[touched] = np.broadcast_to(rows.day[:, None], touched.shape)[touched]

    def _growth(self, chance: Floats) -> Floats:
        """(F, R) growth of log stability by a level, or by playing, first on its day."""
        params, rule = self._params, self._rule
        level, asked = self._rows.level.T, self._rated.T
        doubt = np.where(asked, 1.0 - chance, 1.0)
        grown = params.gain * rule.exp(params.gain_power * rule.log(doubt)) + params.gain_floor
        grown *= rule.exp(-params.gain_wane * self._known)
        gain = np.where(level == 3, params.gain_found * grown, grown)
        gain = np.where(level <= 2, params.gain_failed, gain)
        played = params.gain_floor * np.minimum(self._rows.minutes, 1.0)
        return np.where(asked, gain, played)

    def _add_variance(self, variance: Floats) -> None:
        for f, added in enumerate(variance):
            self._beliefs.cov[:, f, f] += added
