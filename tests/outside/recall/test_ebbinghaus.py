"""Forgetting as a power of time, against the oldest tables there are.

The tables are of savings: the share of the time for learning a list that is saved when it is
learned again. Savings are not the chance of recall, so nothing here says what the parameters of
a player should be; only the shape of the curve is looked at.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize

from tunememory.recall.forgetting import mean_success
from tunememory.recall.parameters import PRIOR

MINUTES = np.array([20, 64, 526, 1440, 2 * 1440, 6 * 1440, 31 * 1440], dtype=float)
OBSERVED = np.array([58.2, 44.2, 35.8, 33.7, 27.8, 25.4, 21.1])
CALCULATED = np.array([57.0, 46.7, 34.5, 30.4, 28.1, 24.9, 21.2])
OFF = np.array([1.2, -2.5, 1.3, 3.3, -0.3, 0.5, -0.1])
"""Ebbinghaus (1885), Memory, translated by Ruger & Bussenius (1913), section 29, pages 77-78:
minutes as he counts them, savings in percent observed and by his formula, and the difference."""

K = 1.84
C = 1.25
"""The constants of his formula as later authors quote them; "k = 1.48" in copies is a misprint."""

TABLE_MINUTES = np.array([19, 63, 525, 1440, 2880, 8640, 44640], dtype=float)
TABLE = {
    "Ebbinghaus 1885": (0.582, 0.442, 0.358, 0.337, 0.278, 0.254, 0.211),
    "Mack": (0.544, 0.432, 0.285, 0.316, 0.365, 0.309, 0.258),
    "Seitz": (0.442, 0.325, 0.270, 0.270, 0.286, 0.205, 0.201),
    "Dros": (0.472, 0.373, 0.276, 0.317, 0.230, 0.168, 0.041),
}
"""Murre & Dros (2015), PLoS ONE 10(7), e0120644, table 3 (CC BY; from a transcription); Mack and
Seitz are the subjects of Heller, Mack & Seitz (1991), Zeitschrift für Psychologie 199, 3-18."""

POWER_R2 = {"Ebbinghaus 1885": 0.975, "Mack": 0.786, "Seitz": 0.875, "Dros": 0.863}
"""R squared of a power law a t^-b fitted to the table by least squares: own computation."""


def ebbinghaus(minutes, k):
    return 100 * k / (np.log10(minutes) ** C + k)


def odds_power(two, minutes):
    """The model's chance for a spread population, the unit of time being the minute."""
    mean, log_slope = two
    params = replace(PRIOR, slope=math.exp(log_slope), lapse=0.0)
    return mean_success(
        np.full(len(minutes), mean),
        np.full(len(minutes), PRIOR.declared_sd**2),
        np.log(minutes),
        params,
    )


def power(two, minutes):
    return two[0] * minutes ** -two[1]


def exponential(two, minutes):
    return two[0] * np.exp(-minutes * math.exp(two[1]))


def r_squared(curve, start, savings):
    savings = np.array(savings)
    fit = optimize.least_squares(lambda two: curve(two, TABLE_MINUTES) - savings, start)
    return float(1 - (fit.fun**2).sum() / ((savings - savings.mean()) ** 2).sum())


def test_his_table_is_his_formula():
    assert ebbinghaus(MINUTES, K) == pytest.approx(CALCULATED, abs=0.15)
    assert pytest.approx(OFF, abs=1e-9) == OBSERVED - CALCULATED


def test_the_misprinted_constant_does_not_give_his_table():
    assert abs(ebbinghaus(MINUTES, 1.48)[0] - CALCULATED[0]) > 5


@pytest.mark.parametrize("who", TABLE)
def test_a_power_of_the_odds_fits_savings_about_as_well_as_a_power_law(who):
    """Two parameters each, the spread of the population held at the model's own.

    Reached .957, .754, .861 and .885 where the power law has .975, .786, .875 and .863: within
    .035 of it everywhere, better on the newest series, not as good on the other three.
    """
    ours = r_squared(odds_power, (5.0, -1.0), TABLE[who])
    law = r_squared(power, (0.8, 0.1), TABLE[who])
    assert law == pytest.approx(POWER_R2[who], abs=1e-3)
    assert ours > law - 0.035
    assert ours > r_squared(exponential, (0.4, -10.0), TABLE[who]) + 0.04


def test_the_newest_series_is_fitted_better_than_by_a_power_law():
    assert r_squared(odds_power, (5.0, -1.0), TABLE["Dros"]) > POWER_R2["Dros"]
