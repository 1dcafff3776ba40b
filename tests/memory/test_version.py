"""Beliefs that were kept are used again only by the model that made them."""

from dataclasses import fields, replace

import numpy as np
import pytest

from tunememory.memory.events import CheckEvent, ExposureEvent
from tunememory.memory.parameters import PRIOR, Parameters
from tunememory.memory.replay import replay
from tunememory.memory.start import first_belief
from tunememory.memory.version import MODEL
from tunememory.tunes.tune import Declared

COLUMNS = (0, 1, 2, 3)
HISTORY = [
    CheckEvent(9000.4, 9000, ((0, 4), (2, 3), (3, 1))),
    ExposureEvent(9000.404, 9000, (0, 2, 3), 0.5),
    CheckEvent(9000.41, 9000, ((2, 4), (3, 2))),
    CheckEvent(9003.5, 9003, ((1, 4),), 1),
    ExposureEvent(9005.5, 9005, (2, 3), 3.0),
    CheckEvent(9060.5, 9060, ((0, 4), (2, 4), (3, 3))),
    CheckEvent(9071.5, 9071, ((1, 4), (2, 2))),
]
"""Every level, a hint, playing, twice on one day, minutes after another and after a long gap."""


def numbers(params: Parameters) -> np.ndarray:
    """Means and variances of one history, whatever the player had said of the tune."""
    firsts = [first_belief(COLUMNS, declared, 8990.0, params) for declared in Declared]
    made = replay(firsts, [HISTORY] * len(firsts), params)
    return np.array([[belief.mean, np.diag(belief.cov)] for belief in made])


MADE = {
    2: [
        [[5.24729818979, 4.08869885071, 3.84283950792, 2.49224067467],
         [1.7525160192, 1.48561493354, 1.3417452814, 1.29504730935]],
        [[5.49902130408, 4.51112539099, 4.14295041723, 2.9636570669],
         [1.50528126995, 1.36036078321, 1.30468674192, 1.26195029784]],
        [[5.96737681362, 5.23176465952, 4.6676055588, 3.7245510634],
         [1.3297572279, 1.24394142444, 1.28455211789, 1.21039333698]],
        [[6.79276457068, 6.06547065048, 5.31751583851, 4.30573186759],
         [1.41441024161, 1.27550717656, 1.37101945427, 1.26017078331]],
    ],
}  # fmt: skip
"""Model, and what it makes of the history: a record of its own output, so that no change of rules
or starting values goes by without a new number."""


def test_another_outcome_has_another_number():
    assert MADE.keys() == {MODEL}
    assert numbers(PRIOR) == pytest.approx(np.array(MADE[MODEL]), rel=1e-9)


@pytest.mark.parametrize("name", [f.name for f in fields(Parameters) if f.name != "focus"])
def test_every_starting_value_shows_in_the_outcome(name):
    other = replace(PRIOR, **{name: getattr(PRIOR, name) * 1.01 + 0.0001})
    assert numbers(other) != pytest.approx(numbers(PRIOR), rel=1e-9)
