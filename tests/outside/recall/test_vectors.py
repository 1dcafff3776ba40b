"""Beliefs against hand-checked vectors, SciPy's quadrature and an exact grid.

No source but mathematics: the vectors and the grid come from own computations, done apart from
the model's code.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, signal, special, stats

from tests.outside.recall.populations import level_chances, one_strand
from tunememory.recall.belief import stack
from tunememory.recall.forgetting import GAP, SHORTEST, chance
from tunememory.recall.parameters import PRIOR, Parameters
from tunememory.recall.update import CheckEvent, after

STILL = replace(
    PRIOR,
    slope=1.0,
    join_in=-1.1,
    kick_off=1.4,
    lapse=0.02,
    haste=1.0,
    gain=0.0,
    gain_floor=0.0,
    gain_failed=0.0,
    gain_noise=0.0,
)
"""Nothing is learned, and t is the elapsed time and no more."""

AT = 8.0 - SHORTEST
"""Felt as exactly 8 days after an exposure at 0."""

SUCCESS = 0.370740
POSTERIORS = [
    (0, 0.423098, 0.752172, 1.134585),
    (1, 0.206162, 1.438436, 0.915764),
    (2, 0.205695, 1.872337, 0.962282),
    (3, 0.165045, 2.341000, 1.233052),
]
"""Slope 1, cuts -1.1, 0, 1.4, lapse .02, x normal with mean ln 4 and variance 1.44, t = 8 days:
chance of a level of 3 or 4; for each y = level - 1 its chance, posterior mean and variance."""

GRID_TUNES = 60
GRID_CHECKS = 12


@pytest.fixture
def belief():
    return one_strand(math.log(4.0), 1.44, 1)


def likelihood(y: int, x, t: float, params: Parameters):
    """P(y | x, t) written out afresh."""

    def at_least(k: int):
        if k in {0, 4}:
            return np.full_like(np.asarray(x, dtype=float), 1.0 if k == 0 else 0.0)
        cut = (params.join_in, 0.0, params.kick_off)[k - 1]
        p = special.expit(params.slope * (x - math.log(t)) - cut)
        return params.lapse / 2 + (1 - params.lapse) * p

    return at_least(y) - at_least(y + 1)


def test_chance_of_success(belief):
    assert chance(belief, AT, STILL)[0, 0] == pytest.approx(SUCCESS, abs=1e-6)


@pytest.mark.parametrize(("y", "said", "mean", "variance"), POSTERIORS)
def test_a_level_is_taken_in_as_computed(belief, y, said, mean, variance):
    assert level_chances(belief, AT, STILL)[0, 0, y] == pytest.approx(said, abs=1e-6)
    now = after(belief.tune(0), CheckEvent(AT, 8, ((0, y + 1),)), STILL)
    assert now.mean[0] == pytest.approx(mean, abs=1e-6)
    assert now.cov[0, 0] == pytest.approx(variance, abs=1e-6)


@pytest.mark.parametrize(("y", "said", "mean", "variance"), POSTERIORS)
def test_the_vectors_themselves_by_adaptive_quadrature(y, said, mean, variance):
    def moment(power: int) -> float:
        density = stats.norm(math.log(4.0), 1.2).pdf
        return integrate.quad(
            lambda x: x**power * float(likelihood(y, x, 8.0, STILL)) * density(x), -15, 18
        )[0]

    total, first, second = (moment(power) for power in range(3))
    assert total == pytest.approx(said, abs=1e-6)
    assert first / total == pytest.approx(mean, abs=1e-6)
    assert second / total - (first / total) ** 2 == pytest.approx(variance, abs=1e-6)


class Grid:
    """Density of one strand's x on 2,001 points, carried along without any approximation of form.

    Growth moves the points, noise is a convolution, a level multiplies.
    """

    def __init__(self, mean: float, variance: float) -> None:
        self.x = np.linspace(mean - 14.0, mean + 14.0, 2001)
        self.density = stats.norm(mean, math.sqrt(variance)).pdf(self.x)
        self.density /= self.density.sum()

    def success(self, t: float, params: Parameters) -> float:
        both = likelihood(2, self.x, t, params) + likelihood(3, self.x, t, params)
        return float((self.density * both).sum())

    def widen(self, variance: float) -> None:
        if variance > 0.0:
            step = self.x[1] - self.x[0]
            kernel = stats.norm(0.0, math.sqrt(variance)).pdf(np.arange(-1000, 1001) * step)
            self.density = signal.fftconvolve(self.density, kernel / kernel.sum(), mode="same")
            self.density = np.maximum(self.density, 0.0)
            self.density /= self.density.sum()

    def check(self, level: int, t: float, params: Parameters) -> None:
        doubt = 1.0 - self.success(t, params)
        known = max(float((self.density * self.x).sum()) - params.just_learned, 0.0)
        self.density *= likelihood(level - 1, self.x, t, params)
        self.density /= self.density.sum()
        grown = params.gain * doubt**params.gain_power + params.gain_floor
        grown *= math.exp(-params.gain_wane * known)
        share = {1: 0.0, 2: 0.0, 3: params.gain_found, 4: 1.0}[level]
        self.x = self.x + (share * grown if share else params.gain_failed)
        self.widen(params.gain_noise)


def felt(elapsed: float) -> float:
    return SHORTEST + elapsed + (PRIOR.haste - 1.0) * min(elapsed, PRIOR.sitting)


def unobserved(elapsed: float) -> float:
    """Variance an unobserved stretch adds: each doubling beyond three weeks the same."""
    return PRIOR.gap_widening * math.log2(1.0 + max(elapsed - GAP, 0.0) / GAP)


def belief_and_grid(rng: np.random.Generator) -> tuple[list[float], list[float]]:
    """Chances foretold for the checks of one invented tune, by the model and by the grid."""
    mean = PRIOR.just_learned + float(rng.choice([0.0, PRIOR.known, PRIOR.old_friend]))
    variance = PRIOR.declared_sd**2
    tune = one_strand(mean, variance, 1).tune(0)
    grid = Grid(mean, variance)
    # The truth is one x, so that histories are as surprising as real ones may be.
    truth = float(rng.normal(mean, math.sqrt(variance)))
    at, ours, exact = 0.0, [], []
    for _ in range(GRID_CHECKS):
        elapsed = float(rng.uniform(1.0, 4.0) * rng.choice([1.0, 5.0, 20.0]))
        at += elapsed
        t = felt(elapsed)
        grid.widen(unobserved(elapsed))
        ours.append(float(chance(stack([tune]), at, PRIOR)[0, 0]))
        exact.append(grid.success(t, PRIOR))
        shares = np.array([float(likelihood(y, truth, t, PRIOR)) for y in range(4)])
        level = 1 + int(rng.choice(4, p=shares / shares.sum()))
        grid.check(level, t, PRIOR)
        tune = after(tune, CheckEvent(at, 1 + int(at), ((0, level),)), PRIOR)
        truth += 0.3 if level >= 3 else PRIOR.gain_failed
    return ours, exact


def test_beliefs_stay_by_the_exact_grid_over_twelve_checks():
    rng = np.random.default_rng(20080)
    off = np.array([np.subtract(*belief_and_grid(rng)) for _ in range(GRID_TUNES)])
    # Reached a mean of .0009 and .022 at worst.
    assert np.abs(off).mean() <= 0.002
    assert np.abs(off).max() <= 0.03
