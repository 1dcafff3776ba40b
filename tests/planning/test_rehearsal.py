from dataclasses import replace

import numpy as np
import pytest

from tunememory.memory.parameters import PRIOR
from tunememory.memory.start import Entry, first_beliefs
from tunememory.planning.forecast import Habits
from tunememory.planning.rehearsal import CLEARLY, FOCUSES, STILL, _kept, rehearse
from tunememory.tunes.tune import Declared

FLEETING = replace(PRIOR, just_learned=0.3, gain=2.5, gain_power=0.5, gain_failed=-0.2, slope=1.4)
"""A memory that loses what waits and multiplies what comes: building up pays."""

EVEN = replace(PRIOR, just_learned=2.5, gain=0.3, gain_wane=0.5, gain_failed=0.3, slope=0.6)
"""A memory that holds and hardly grows: what waits longest is best asked next."""


def tunes(count, params, seed=1):
    words = list(Declared)
    rng = np.random.default_rng(seed)
    entries = [Entry((0,), words[int(rng.integers(3))], 0.0) for _ in range(count)]
    return first_beliefs(entries, params)


def test_building_up_is_found_where_it_pays_and_only_there():
    habits = Habits(checks_a_day=8, days=0.9)
    bold = rehearse(tunes(150, FLEETING), 1.0, FLEETING, habits, np.random.default_rng(2))
    even = rehearse(tunes(150, EVEN), 1.0, EVEN, habits, np.random.default_rng(2))
    assert bold.focus > 0
    assert max(bold.callable) > 1.05 * bold.callable[0]
    assert even.focus == 0.0


def test_the_same_luck_gives_the_same_answer_and_tunes_do_not_outnumber_themselves():
    habits = Habits(checks_a_day=5)
    first, again = (
        rehearse(tunes(40, PRIOR), 1.0, PRIOR, habits, np.random.default_rng(3)) for _ in range(2)
    )
    assert first == again
    assert all(0 < number < 40 for number in first.callable)


def test_many_tunes_are_stood_for_by_some():
    habits = Habits(checks_a_day=20)
    many = rehearse(tunes(700, PRIOR), 1.0, PRIOR, habits, np.random.default_rng(4))
    assert 200 < many.callable[0] < 700


def test_nothing_to_rehearse():
    assert rehearse(tunes(0, PRIOR), 1.0, PRIOR, Habits(5), np.random.default_rng(1)).focus == 0.0


@pytest.mark.parametrize(
    ("ahead", "in_use", "kept"),
    [
        ((0, CLEARLY / 2, 0), 0.0, 0.0),
        ((0, 2 * CLEARLY, CLEARLY), 0.0, 1.0),
        ((0, CLEARLY / 2, 0), 1.0, 1.0),
        ((0, STILL / 2, 0), 1.0, 0.0),
        ((0, CLEARLY, CLEARLY + 2 * STILL), 1.0, 2.0),
        ((0, CLEARLY, CLEARLY + STILL / 2), 1.0, 1.0),
        ((0, -0.1, 3 * CLEARLY), 1.0, 2.0),
    ],
)
def test_one_in_use_stays_until_it_no_longer_helps(ahead, in_use, kept):
    assert _kept(np.array(ahead), in_use) == kept
    assert kept in FOCUSES
