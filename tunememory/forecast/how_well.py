"""What we said against what came.

Every chance looked at here was said before its check was known, so nothing is explained with
hindsight. A check is a level of the player's own choosing: the chances are of that, not of what
a listener would have heard.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.history import whole_history
from tunememory.recall.replay import predictions
from tunememory.recall.state import RANGE
from tunememory.recall.table import each_untouched
from tunememory.recall.update import CheckEvent
from tunememory.session import in_force

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.recall.belief import TuneBelief
    from tunememory.recall.forgetting import Bools, Floats
    from tunememory.recall.parameters import Parameters
    from tunememory.recall.update import Event
    from tunememory.session import Session


TENTHS = 10
"""Steps that the chances are gathered in."""

ENOUGH = 100
"""Checks below which nothing is concluded: with 100 the share that came is known to within 7 in
100, 8 times in 10; with 25 only to within 13."""

ENOUGH_IN_A_STEP = 30
"""Checks below which one step is not judged by itself (within 12 in 100 or worse); own choice."""

_LEAST = 1e-9
"""Chances are kept this far from 0 and 1 in logarithms."""


@dataclass(frozen=True, slots=True, eq=False)
class Promises:
    """N levels of cold checks and what was said of them before.

    Attributes:
        at: (N,) days since the epoch.
        chance: (N,) chance of a level of 3 or 4 that was said.
        came: (N,) whether the level was 3 or 4.
        weight: (N,) share of its check, so that the levels of one check sum to 1: rated in one
            breath, they are not several proofs.
    """

    at: Floats
    chance: Floats
    came: Bools
    weight: Floats

    def where(self, kept: Bools) -> Promises:
        """Some of the levels."""
        return Promises(self.at[kept], self.chance[kept], self.came[kept], self.weight[kept])


@dataclass(frozen=True, slots=True)
class ChanceStep:
    """Chances that were alike, within a tenth.

    Attributes:
        begin: Lowest chance of the step; the highest is a tenth above.
        levels: How many levels fell into it.
        checks: How many checks they make up, levels of one check sharing it.
        said: Mean chance that was said.
        came: Share that came: would find it, or better.
        low: Lower end of the range that holds that share 8 times in 10.
        high: Upper end.
    """

    begin: float
    levels: int
    checks: float
    said: float
    came: float
    low: float
    high: float

    @property
    def enough(self) -> bool:
        """Whether it can be judged by itself."""
        return self.checks >= ENOUGH_IN_A_STEP

    @property
    def holds(self) -> bool:
        """Whether what was said lies in the range of what came."""
        return self.low <= self.said <= self.high


@dataclass(frozen=True, slots=True)
class HowWell:
    """How well chances came true; means and losses are 0 where nothing was looked at.

    Attributes:
        steps: Steps that have checks, lowest chances first.
        levels: How many levels were looked at.
        checks: How many cold checks they make up.
        said: Mean chance.
        came: Share that came.
        spread: Standard deviation that chance alone gives to ``came - said``.
        log_loss: Mean surprise per check, natural logarithm; less is better.
        brier: Mean squared difference (Brier 1950, Monthly Weather Review 78, 1-3).
        average_log_loss: The same for one who always says the share that came, which nobody
            can know beforehand: the best of all constant answers.
        average_brier: Likewise.
        own_since: ISO date of the first fit that was used; ``None`` without one. Every check is
            judged by what was in use when it came.
    """

    steps: tuple[ChanceStep, ...] = ()
    levels: int = 0
    checks: int = 0
    said: float = 0.0
    came: float = 0.0
    spread: float = 0.0
    log_loss: float = 0.0
    brier: float = 0.0
    average_log_loss: float = 0.0
    average_brier: float = 0.0
    own_since: str | None = None

    @property
    def enough(self) -> bool:
        """Whether anything can be told from so many checks."""
        return self.checks >= ENOUGH

    @property
    def leaning(self) -> int:
        """1 when more was said than came, -1 when less, 0 when chance may explain it.

        Two standard deviations part them.
        """
        off = self.said - self.came
        return int(np.sign(off)) if abs(off) > 2.0 * self.spread else 0


def joined(parts: Sequence[Promises]) -> Promises:
    """Levels of all ``parts``, one after the other."""
    at, chance, came, weight = (
        np.concatenate([np.zeros(0, dtype=kind), *(getattr(part, name) for part in parts)])
        for name, kind in (("at", float), ("chance", float), ("came", bool), ("weight", float))
    )
    return Promises(at, chance, came, weight)


def looked_back(
    firsts: Sequence[TuneBelief],
    histories: Sequence[Sequence[Event]],
    params: Parameters,
    window: tuple[float, float] = (-math.inf, math.inf),
) -> Promises:
    """Return what ``params`` say of every cold check in a window from what came before it.

    Cold is the first time a tune is met on a practice day, in a first or loose round: what was
    heard a moment ago comes easily and would flatter us.

    Args:
        firsts: First belief of each of T tunes.
        histories: T histories, oldest first.
        params: Parameters to say it with.
        window: Days from and up to which checks are looked at, the last not included.
    """
    since, until = window
    if not any(since <= event.at < until for history in histories for event in history):
        return joined([])
    histories = [[event for event in history if event.at < until] for history in histories]
    at: list[float] = []
    chance: list[float] = []
    came: list[bool] = []
    weight: list[float] = []
    said = predictions(firsts, histories, params)
    for history, chances in zip(histories, said, strict=True):
        for event, before in _cold(history, chances):
            if event.at < since:
                continue
            # Columns the tune has not are passed over, here as in the update.
            levels = [(c, n) for c, n in event.levels if c < len(before) and before[c] == before[c]]
            cap = 2 if event.hints else 4
            for column, level in levels:
                at.append(event.at)
                chance.append(float(before[column]))
                came.append(min(level, cap) >= 3)
                weight.append(1.0 / len(levels))
    return Promises(np.array(at), np.array(chance), np.array(came, dtype=np.bool_),
                    np.array(weight))  # fmt: skip


def _cold(
    history: Sequence[Event], chances: Sequence[Floats]
) -> Iterator[tuple[CheckEvent, Floats]]:
    day = 0
    for event, before in zip(history, chances, strict=True):
        if isinstance(event, CheckEvent) and event.cold and event.day != day:
            yield event, before
        day = event.day


def calibrate(promises: Promises) -> HowWell:
    """Lay what was said beside what came."""
    p, w = promises.chance, promises.weight
    came = promises.came.astype(np.float64)
    checks = float(w.sum())
    if not checks:
        return HowWell()
    place = np.minimum((p * TENTHS).astype(np.int64), TENTHS - 1)
    share = float(w @ came) / checks
    always = np.full_like(p, share)
    return HowWell(
        steps=tuple(_step(promises.where(place == n), n) for n in np.unique(place).tolist()),
        levels=len(p),
        checks=round(checks),
        said=float(w @ p) / checks,
        came=share,
        spread=_spread(p, w) / checks,
        log_loss=_log_loss(p, came, w),
        brier=_brier(p, came, w),
        average_log_loss=_log_loss(always, came, w),
        average_brier=_brier(always, came, w),
    )


def wilson_range(share: float, count: float, width: float = RANGE) -> tuple[float, float]:
    """Return the range of a share seen in ``count`` trials.

    Wilson (1927), Journal of the American Statistical Association 22, 209-212: the shares that
    do not disagree with what was seen; unlike the usual plus-or-minus it never leaves 0 to 1
    and has a width where the share is 0 or 1.

    Args:
        share: 0 to 1.
        count: Trials, above 0; need not be whole.
        width: How often the range holds the true share.
    """
    z = NormalDist().inv_cdf(0.5 + width / 2.0)
    middle = (share + z * z / (2.0 * count)) / (1.0 + z * z / count)
    reach = z / (1.0 + z * z / count) * np.sqrt(
        share * (1.0 - share) / count + z * z / (4.0 * count * count)
    )  # fmt: skip
    return max(0.0, float(middle - reach)), min(1.0, float(middle + reach))


def _step(some: Promises, number: int) -> ChanceStep:
    checks = float(some.weight.sum())
    came = float(some.weight @ some.came) / checks
    low, high = wilson_range(came, checks)
    said = float(some.weight @ some.chance) / checks
    return ChanceStep(number / TENTHS, len(some.at), checks, said, came, low, high)


def _spread(p: Floats, w: Floats) -> float:
    # Levels of one check come and go together: their sum varies like one level of its weight.
    return float(np.sqrt(np.sum(w * p * (1.0 - p))))


def _log_loss(p: Floats, came: Floats, w: Floats) -> float:
    right = np.clip(np.where(came > 0.0, p, 1.0 - p), _LEAST, 1.0)
    return float(-(w @ np.log(right)) / w.sum())


def _brier(p: Floats, came: Floats, w: Floats) -> float:
    return float(w @ np.square(p - came) / w.sum())


OWN_LEVEL = "The chances are of the level you give yourself, not of what others would hear."
"""What the chances are of; said wherever they are judged."""

NO_DIFFERENCE = 0.005
"""Log loss that nobody would notice; own choice."""


def how_well_guessed(session: Session) -> HowWell:
    """Look back over every cold check, each foretold with the parameters in use when it came.

    Parameters that have seen a check must not boast of it, and those that came later did not
    say anything of it.
    """
    tunes, histories = whole_history(session)
    used = in_force(session.repertoire)
    seen = []
    begins = [to_days(moment) for moment, _ in used]
    for (_, params), window in zip(used, pairwise([*begins, math.inf]), strict=True):
        firsts = each_untouched(tunes, params)
        seen.append(looked_back(firsts, histories, params, window))
    own_since = session.day_of(used[1][0]).isoformat() if len(used) > 1 else None
    return replace(calibrate(joined(seen)), own_since=own_since)


def sentences(found: HowWell) -> tuple[str, ...]:
    """Say it in plain words."""
    if not found.checks:
        return (
            "No cold check yet. Once you have been asked, this page shows what we said "
            "against what came.",
        )
    if not found.enough:
        checks = "1 cold check" if found.checks == 1 else f"{found.checks} cold checks"
        return (
            f"{checks} so far. From about {ENOUGH} on it can be told how well we guess; "
            "until then every number here may be luck.",
        )
    said, came = (f"{100 * share:.0f} in 100" for share in (found.said, found.came))
    if found.leaning > 0:
        first = f"We promise too much: we said {said}, and {came} came."
    elif found.leaning < 0:
        first = f"We promise too little: we said {said}, and {came} came."
    else:
        first = f"On the whole we guess right: we said {said}, and {came} came."
    better = found.average_log_loss - found.log_loss
    if better > NO_DIFFERENCE:
        second = "Tune by tune that tells you more than always saying the average would."
    elif better < -NO_DIFFERENCE:
        second = "Tune by tune, always saying the average would have been the better guess."
    else:
        second = "Tune by tune, always saying the average would have been as good a guess."
    if found.own_since is None:
        return (first, second)
    third = (
        f"We guess from your own checks since {found.own_since}. "
        "Each check is judged by what was in use when it came; before that day, by the "
        "starting values."
    )
    return (first, second, third)
