"""What the memory model takes as given about a player, and how uncertain that is."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tunememory.recall.forgetting import Floats, Ints


@dataclass(frozen=True, slots=True)
class Curve:
    """What a level depends on besides stability and time: four of the ``Parameters``."""

    slope: float
    join_in: float
    kick_off: float
    lapse: float


@dataclass(frozen=True, slots=True)
class Parameters:
    """Player-level parameters. Lengths of memory are logarithms of days unless said otherwise.

    The values of ``PRIOR`` hold until the player's own are fitted. "Refit" stands for our own
    fit of this model to the 26 mean recalls of Cepeda, Vul, Rohrer, Wixted & Pashler (2008),
    Psychological Science 19, 1095-1102, and to the recall histories that Pavlik, Eglington &
    Harrell-Williams (2021, IEEE TLT 14, 624-639) published.

    Attributes:
        slope: Power of the decay of the odds of success with time, above 0. Between .69
            (Pavlik & Anderson 2005, Cognitive Science 29, 559-586: a/s; histories refit) and
            1.37 (Cepeda refit).
        just_learned: Stability of a tune just learned (refits: 4 days outside a session).
        new, learning, known, old_friend: What the player's word at entry adds to
            ``just_learned``; own judgement, the top from half a playing skill lost in about 6.5
            months (Tatel & Ackerman 2025, Psychological Bulletin).
        declared_sd: Standard deviation of stability about the declared value; own judgement.
        key, start, name: What a strand adds: starts from the name are harder than the name from
            a start (direction: Korenman & Peynircioglu 2004, JEP:LMC 30, 917-922; sizes are own
            judgement).
        strand_sd: Standard deviation of strands about their tune, above 0 (histories refit).
        gain: Largest growth by a success that was in doubt (Cepeda and histories refits).
        gain_power: Power of the chance of failure by which growth shrinks, 0 or above.
        gain_floor: Growth by a success that was certain.
        gain_wane: Share by which growth shrinks for each unit of log stability beyond
            ``just_learned``, 0 or above. In every published model that counts presentations
            (Anderson & Schooler 1991; Walsh et al. 2018, Cognitive Science 42, 644-691) a
            further one adds less; fits to such learners lie between 0 and .36. Own choice.
        gain_found: Share of the growth when it only came with hesitation (level 3), 0 to 1;
            own judgement.
        gain_failed: Growth by seeing the answer after a failure (histories refit .28).
        spill: Share of growth that reaches the strands not asked, 0 to 1 (histories refit).
        gain_noise: Variance one growth step adds (histories refit, shrunk).
        haste: How many times faster memory fades while others are being played, 1 or above
            (Pavlik & Anderson 2005: 40; histories refit 159; a practice is less dense than
            drill in a laboratory).
        sitting: Days after an exposure that are taken to be spent on others. Ten minutes; half an
            hour foretells the histories worse (log loss .0023 more, 95 % .0014 to .0034; beyond
            12 hours .0130 more, .0069 to .0189), and the refit finds 7 to 8 minutes.
        same_day: Share of growth left for a repeat on the same day, 0 to 1 (Cepeda refit;
            Rawson & Dunlosky 2011, JEP:General 140, 283-302: repeats add less than they cost).
        join_in: Cut of level 2 below level 3 on the logit scale, below 0; own judgement.
        kick_off: Cut of level 4 above level 3 on the logit scale, above 0; own judgement.
        lapse: Chance that a level has nothing to do with memory, 0 to 1 (histories refit .012).
        gap_widening: Variance added each time an unobserved stretch beyond three weeks doubles;
            own choice, no source.
        focus: How the plan uses the model (``gain.gain_parts``), 0 or above: 0 keeps all tunes as
            evenly as can be, more builds up those that grow; never fitted, chosen by how sharp
            memory shows itself (``fitting.sharpness``).
    """

    slope: float = 1.0
    just_learned: float = math.log(4.0)
    new: float = math.log(1.5 / 4.0)
    learning: float = math.log(5.0 / 4.0)
    known: float = math.log(30.0 / 4.0)
    old_friend: float = math.log(180.0 / 4.0)
    declared_sd: float = 1.2
    key: float = 0.0
    start: float = -0.3
    name: float = 0.2
    strand_sd: float = 0.75
    gain: float = 1.0
    gain_power: float = 0.7
    gain_floor: float = 0.2
    gain_wane: float = 0.05
    gain_found: float = 0.6
    gain_failed: float = 0.15
    spill: float = 0.11
    gain_noise: float = 0.2
    haste: float = 20.0
    sitting: float = 10.0 / 1440.0
    same_day: float = 0.35
    join_in: float = -1.1
    kick_off: float = 1.4
    lapse: float = 0.03
    gap_widening: float = 0.15
    focus: float = 1.0

    def of_rows(self, rows: Ints | slice) -> Parameters:
        """Parameters of some rows of a batch; the same for all unless made by ``side_by_side``."""
        if np.ndim(self.slope) == 0:
            return self
        return Parameters(**{f.name: getattr(self, f.name)[rows] for f in fields(self)})

    def curve(self, rows: Ints) -> Curve:
        """What some rows' levels depend on; quicker than ``of_rows``, which takes all."""
        if np.ndim(self.slope) == 0:
            return Curve(self.slope, self.join_in, self.kick_off, self.lapse)
        return Curve(**{f.name: getattr(self, f.name)[rows] for f in fields(Curve)})

    def as_dict(self) -> dict[str, float]:
        """Plain form for storing."""
        return asdict(self)

    @classmethod
    def from_dict(cls, stored: Mapping[str, float]) -> Parameters:
        """Read the plain form; names it lacks take their prior values, others are passed over.

        Raises:
            ValueError: A value is not a finite number.
        """
        values = {f.name: float(stored[f.name]) for f in fields(cls) if f.name in stored}
        for field, value in values.items():
            if not math.isfinite(value):
                raise ValueError(f"memory parameter {field} is not a number: {value}")
        return cls(**values)


def side_by_side(each: Sequence[Parameters]) -> Parameters:
    """Parameters for a batch of R tunes, each with its own: every field becomes an (R,) array.

    Only for ``update.advance``, which is elementwise in them: many players, or many trial
    values of one player's parameters, go through one batch.
    """
    values: dict[str, Any] = {
        f.name: np.array([getattr(one, f.name) for one in each]) for f in fields(Parameters)
    }
    return Parameters(**values)


PRIOR = Parameters()
"""Where every player starts."""


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

_NOTHING = 1e-9
"""Stands for 0 where a logarithm is taken."""


def to_working(params: Parameters, names: Sequence[str] = tuple(PRIORS)) -> Floats:
    """Values of ``names`` on the scales they are fitted on."""
    return np.array([_forth(PRIORS[n].scale, getattr(params, n)) for n in names])


def from_working(
    values: Floats, names: Sequence[str] = tuple(PRIORS), base: Parameters = PRIOR
) -> Parameters:
    """Inverse of ``to_working``; the other parameters are those of ``base``."""
    changed = {n: _back(PRIORS[n].scale, float(v)) for n, v in zip(names, values, strict=True)}
    return replace(base, **changed)


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


def plausible(
    params: Parameters,
    count: int,
    rng: np.random.Generator,
    names: Sequence[str] = tuple(PRIORS),
    covariance: Floats | None = None,
) -> list[Parameters]:
    """Draw parameters from what is believed of them.

    Args:
        params: Parameters in use, the middle of the draws.
        count: How many.
        rng: Source of chance.
        names: Which are uncertain; the others stay.
        covariance: (n, n) on the working scales of a fit; the widths of the priors when ``None``.
    """
    if covariance is None:
        covariance = np.diag([PRIORS[name].sd ** 2 for name in names])
    middle = to_working(params, names)
    drawn = rng.multivariate_normal(middle, covariance, size=count, method="cholesky")
    return [from_working(values, names, params) for values in drawn]
