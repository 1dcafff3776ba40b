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

from tunememory.memory.bayes import CAME, EXACT, FAILED, posterior, success
from tunememory.memory.belief import Beliefs, TuneBelief, stack
from tunememory.memory.events import CheckEvent, Event
from tunememory.memory.forgetting import elapsed_days, felt_days, widening
from tunememory.tunes.check import HINT_CAP

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.memory.arrays import Bools, Floats, Ints
    from tunememory.memory.bayes import Rule
    from tunememory.memory.parameters import Parameters


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
    rated = (rows.level > 0) & beliefs.present
    known = np.maximum(beliefs.mean.T - params.just_learned, 0.0)
    touched = rated | (rows.exposed & beliefs.present)
    # Strands first, tunes last: parameters of single tunes (R,) then fit without a word.
    elapsed = elapsed_days(beliefs.exposed_at.T, rows.at)
    log_time = rule.log(felt_days(elapsed, params))
    wider = widening(elapsed, params, rule.log)
    _add_variance(beliefs, np.where(touched.T, wider, 0.0))
    chance = np.full(elapsed.shape, np.nan)
    likelihood = np.full(elapsed.shape, np.nan)
    asked = [(f, np.flatnonzero(rated[:, f])) for f in range(len(elapsed))]
    asked = [(f, who) for f, who in asked if len(who)]
    for f, who in asked:
        variance = beliefs.cov[who, f, f]
        own = params.curve(who)
        chance[f, who] = success(beliefs.mean[who, f], variance, log_time[f, who], own, rule)
    for f, who in asked:
        y = rows.level[who, f] - 1
        again = (rows.day[who] == beliefs.gained_day[who, f]) & (beliefs.gains[who, f] > 0)
        y = np.where(again, np.where(y >= 2, CAME, FAILED), y)
        likelihood[f, who] = _take_in(
            beliefs, who, f, log_time=log_time[f, who], y=y, params=params, rule=rule
        )
    _learn(beliefs, rows, rated=rated, touched=touched, chance=chance, known=known, params=params,
           rule=rule)  # fmt: skip
    return Foretold(chance.T, likelihood.T)


def _add_variance(beliefs: Beliefs, variance: Floats) -> None:
    for f, added in enumerate(variance):
        beliefs.cov[:, f, f] += added


def _take_in(
    beliefs: Beliefs,
    who: Ints,
    f: int,
    *,
    log_time: Floats,
    y: Ints,
    params: Parameters,
    rule: Rule,
) -> Floats:
    """Bayes step of strand ``f`` in the tunes ``who``, carried to their other strands."""
    mean = beliefs.mean[who, f]
    variance = beliefs.cov[who, f, f]
    own = params.curve(who)
    said, new_mean, new_variance = posterior(mean, variance, log_time, y, own, rule)
    share = beliefs.cov[who, :, f] / variance[:, None]
    beliefs.mean[who] += share * (new_mean - mean)[:, None]
    change = share[:, :, None] * share[:, None, :]
    change *= (new_variance - variance)[:, None, None]
    beliefs.cov[who] += change
    beliefs.checks[who, f] += 1
    return said


def _learn(
    beliefs: Beliefs,
    rows: EventRows,
    *,
    rated: Bools,
    touched: Bools,
    chance: Floats,
    known: Floats,
    params: Parameters,
    rule: Rule,
) -> None:
    level, asked, met = rows.level.T, rated.T, touched.T
    earlier = np.where(rows.day == beliefs.gained_day.T, beliefs.gains.T, 0)
    left = np.where(earlier == 0, 1.0, np.where(earlier == 1, params.same_day, 0.0))
    # Playing without being asked is at most a repeat: nothing was called to mind.
    left = np.where(asked, left, np.minimum(left, params.same_day))
    doubt = np.where(asked, 1.0 - chance, 1.0)
    grown = params.gain * rule.exp(params.gain_power * rule.log(doubt)) + params.gain_floor
    grown *= rule.exp(-params.gain_wane * known)
    gain = np.where(level == 3, params.gain_found * grown, grown)
    gain = np.where(level <= 2, params.gain_failed, gain)
    played = params.gain_floor * np.minimum(rows.minutes, 1.0)
    gain = np.where(met, np.where(asked, gain, played) * left, 0.0)

    total = np.zeros(len(rows.at))
    count = np.zeros(len(rows.at))
    for f in range(len(gain)):
        total += gain[f]
        count += met[f]
    spilled = params.spill * total / np.maximum(count, 1.0)
    others = beliefs.present.T & ~met
    beliefs.mean[...] += np.where(met, gain, np.where(others, spilled, 0.0)).T
    _add_variance(beliefs, np.where(met, params.gain_noise * left, 0.0))

    # A check from before the tune came in, or a clock set back, does not undo a later meeting.
    met = np.fmax(beliefs.exposed_at, rows.at[:, None])
    beliefs.exposed_at[touched] = met[touched]
    beliefs.gains[touched] = np.minimum(earlier + 1, 2).T[touched]
    beliefs.gained_day[touched] = np.broadcast_to(rows.day[:, None], touched.shape)[touched]
