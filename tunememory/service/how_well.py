"""How well we guess: what was said of the player's tunes against what came."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory.clock import to_days
from tunememory.memory.calibration import ENOUGH, calibrate, joined, looked_back
from tunememory.service.history import whole_history
from tunememory.service.parameters import in_force
from tunememory.service.remembered import untouched

if TYPE_CHECKING:
    from tunememory.memory.calibration import Calibration
    from tunememory.service.open_file import OpenFile

OWN_LEVEL = "The chances are of the level you give yourself, not of what others would hear."
"""What the chances are of; said wherever they are judged."""

NO_DIFFERENCE = 0.005
"""Log loss that nobody would notice; own choice."""


@dataclass(frozen=True, slots=True)
class SaidStep:
    """Checks of which about the same was said.

    Attributes:
        begin: Lowest chance of the step, a tenth below the highest.
        levels: Levels that came.
        checks: Checks they make up; levels of one check share it.
        said: Mean chance said.
        came: Share that came: would find it, or better.
        low: Lower end of the range that holds that share 8 times in 10.
        high: Upper end.
        enough: Whether there are checks enough to judge the step by itself.
    """

    begin: float
    levels: int
    checks: float
    said: float
    came: float
    low: float
    high: float
    enough: bool


@dataclass(frozen=True, slots=True)
class HowWell:
    """What was said against what came.

    Attributes:
        steps: Steps that have checks, lowest chance first.
        checks: Cold checks looked at.
        needed: Checks from which on anything is concluded.
        said: Mean chance said, 0 without checks.
        came: Share that came, 0 without checks.
        leaning: 1 more was promised than came, -1 less, 0 neither beyond chance.
        log_loss: Mean surprise, less is better; 0 without checks.
        brier: Mean squared difference; 0 without checks.
        average_log_loss: The same of one who always says the share that came.
        average_brier: Likewise.
        own_since: ISO date of the first fit that was used; ``None`` without one. Every check is
            judged by what was in use when it came.
    """

    steps: tuple[SaidStep, ...]
    checks: int
    needed: int
    said: float
    came: float
    leaning: int
    log_loss: float
    brier: float
    average_log_loss: float
    average_brier: float
    own_since: str | None = None

    @property
    def enough(self) -> bool:
        """Whether there are enough checks to tell."""
        return self.checks >= self.needed


def how_well(desk: OpenFile) -> HowWell:
    """Look back over every cold check, each foretold with the parameters in use when it came.

    Parameters that have seen a check must not boast of it, and those that came later did not
    say anything of it.
    """
    tunes, histories = whole_history(desk)
    used = in_force(desk.repertoire)
    seen = []
    begins = [to_days(moment) for moment, _ in used]
    for (_, params), window in zip(used, pairwise([*begins, math.inf]), strict=True):
        firsts = [untouched(tune, params) for tune in tunes]
        seen.append(looked_back(firsts, histories, params, window))
    own_since = desk.day_of(used[1][0]).isoformat() if len(used) > 1 else None
    return _seen(calibrate(joined(seen)), own_since)


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
            f"{checks} so far. From about {found.needed} on it can be told how well we guess; "
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


def _seen(found: Calibration, own_since: str | None) -> HowWell:
    return HowWell(
        steps=tuple(
            SaidStep(s.begin, s.levels, s.checks, s.said, s.came, s.low, s.high, s.enough)
            for s in found.steps
            if s.levels
        ),
        checks=round(found.checks),
        needed=ENOUGH,
        said=_known(found.said),
        came=_known(found.came),
        leaning=found.leaning,
        log_loss=_known(found.log_loss),
        brier=_known(found.brier),
        average_log_loss=_known(found.average_log_loss),
        average_brier=_known(found.average_brier),
        own_since=own_since,
    )


def _known(value: float) -> float:
    return 0.0 if math.isnan(value) else value
