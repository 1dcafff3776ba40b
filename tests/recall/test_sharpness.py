"""Players of a sharp and of a lasting memory are told apart, and so are others of like shape."""

from dataclasses import replace

import numpy as np
import pytest

from tunememory.music.tune import Declared
from tunememory.recall.belief import Entry
from tunememory.recall.fitting import LASTING, SHARP, sharpness, sharpness_of_players
from tunememory.recall.update import CheckEvent

DAYS, TUNES, A_DAY = 90, 60, 8


def played(params, seed):
    """A player who remembers by ``params`` and plays at random: entries, histories."""
    rng = np.random.default_rng(seed)
    entries = [Entry((0,), Declared.LEARNING, 0.0) for _ in range(TUNES)]
    x = params.just_learned + params.learning + params.declared_sd * rng.standard_normal(TUNES)
    last = np.zeros(TUNES)
    histories = [[] for _ in range(TUNES)]
    for k in range(DAYS * A_DAY):
        tune, at = int(TUNES * rng.random() ** 2), 1.0 + k // A_DAY
        z = params.slope * (x[tune] - np.log(max(at - last[tune], 0.2)))
        chance = 1.0 / (1.0 + np.exp(-z))
        sure = 1.0 / (1.0 + np.exp(-z + params.kick_off))
        draw = rng.random()
        level = 4 if draw < sure else 3 if draw < chance else 1
        grown = params.gain * (1.0 - chance) ** params.gain_power + params.gain_floor
        x[tune] += grown if level >= 3 else params.gain_failed
        last[tune] = at
        histories[tune].append(CheckEvent(at, int(at), ((0, level),)))
    return entries, histories


@pytest.mark.parametrize("level", [0, 1, 2])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_player_of_either_memory_is_told(level, seed) -> None:
    sharp = replace(SHARP[-3 + level], declared_sd=0.8)
    lasting = replace(LASTING[level], declared_sd=0.8)
    assert sharpness(*played(sharp, seed)) > 3.0
    assert sharpness(*played(lasting, seed)) < -3.0


def test_several_players_in_one_batch_are_as_one_at_a_time() -> None:
    one, other = played(SHARP[1], 5), played(LASTING[1], 6)
    entries, histories = one[0] + other[0], one[1] + other[1]
    owner = np.repeat([0, 1], TUNES)
    both = sharpness_of_players(entries, histories, owner, 2)
    assert both == pytest.approx([sharpness(*one), sharpness(*other)], abs=1e-9)


def test_no_checks_tell_nothing() -> None:
    entries = [Entry((0,), Declared.KNOWN, 0.0)]
    assert sharpness(entries, [[]]) == pytest.approx(0.0)
    assert sharpness([], []) == pytest.approx(0.0)
