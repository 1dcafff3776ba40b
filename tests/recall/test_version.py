"""Beliefs that were kept are used again only by the model that made them."""

import sys
from dataclasses import fields, replace

import numpy as np
import pytest

from tunememory.music.tune import Declared
from tunememory.recall.belief import MODEL, first_belief
from tunememory.recall.check import column_of
from tunememory.recall.parameters import PRIOR, Parameters
from tunememory.recall.replay import replay
from tunememory.recall.update import CheckEvent, Event, ExposureEvent

KEY, NAME, A, B = (column_of(strand) for strand in ("key", "name", "A", "B"))
COLUMNS = range(B + 1)
"""Every strand there is up to the B start."""

HISTORY: list[Event] = [
    CheckEvent(9000.4, 9000, ((KEY, 4), (A, 3), (B, 1))),
    ExposureEvent(9000.404, 9000, (KEY, A, B), 0.5),
    CheckEvent(9000.41, 9000, ((A, 4), (B, 2))),
    CheckEvent(9003.5, 9003, ((NAME, 4),), 1),
    ExposureEvent(9005.5, 9005, (A, B), 3.0),
    CheckEvent(9060.5, 9060, ((KEY, 4), (A, 4), (B, 3))),
    CheckEvent(9071.5, 9071, ((NAME, 4), (A, 2))),
]
"""Every level, a hint, playing, twice on one day, minutes after another and after a long gap."""


def numbers(params: Parameters) -> np.ndarray:
    """Means and variances of one history, whatever the player had said of the tune."""
    firsts = [first_belief(COLUMNS, declared, 8990.0, params) for declared in Declared]
    made = replay(firsts, [HISTORY] * len(firsts), params)
    return np.array([[belief.mean, np.diag(belief.cov)] for belief in made])


MADE = {
    3: [
        [[5.35719737971, 4.17452312772, 3.90271568753, 2.80505564739],
         [1.76643718733, 1.48042664291, 1.38470268407, 1.40139405201]],
        [[5.61994706516, 4.61752332345, 4.22751125626, 3.39390977111],
         [1.50388693738, 1.35036922424, 1.3308195313, 1.367953776]],
        [[6.09934260289, 5.36166693056, 4.77699488245, 4.2630983179],
         [1.32489726435, 1.24073687788, 1.29622776717, 1.30135520692]],
        [[6.91995005171, 6.18942978883, 5.40798787443, 4.92474663137],
         [1.43147901724, 1.29077591298, 1.38562390409, 1.32884953811]],
    ],
}  # fmt: skip
"""Model, and what it makes of the history: a record of its own output, so that no change of rules
or starting values goes by without a new number.
``python -m tests.recall.test_version`` prints what is to stand here."""


def test_another_outcome_has_another_number():
    assert MADE.keys() == {MODEL}
    assert numbers(PRIOR) == pytest.approx(np.array(MADE[MODEL]), rel=1e-9)


@pytest.mark.parametrize("name", [f.name for f in fields(Parameters) if f.name != "focus"])
def test_every_starting_value_shows_in_the_outcome(name):
    other = replace(PRIOR, **{name: getattr(PRIOR, name) * 1.01 + 0.0001})
    assert numbers(other) != pytest.approx(numbers(PRIOR), rel=1e-9)


if __name__ == "__main__":
    sys.stdout.write(f"{MODEL}: {numbers(PRIOR).round(11).tolist()}\n")
