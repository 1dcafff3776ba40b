import numpy as np
import pytest

from tests.recall.made_up import made_up
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.forgetting import chance
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import predictions, replay
from tunememory.recall.update import CheckEvent, after


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_all_at_once_is_one_by_one_to_the_bit(seed):
    firsts, histories = made_up(60, 12, seed)
    together = replay(firsts, histories, PRIOR)
    for first, history, got in zip(firsts, histories, together, strict=True):
        belief = first
        for event in history:
            belief = after(belief, event, PRIOR)
        assert got.to_bytes() == belief.to_bytes()


def test_more_tunes_than_one_block_and_an_order_that_does_not_matter():
    firsts, histories = made_up(1100, 1.5, seed=4)
    forth = replay(firsts, histories, PRIOR)
    back = replay(firsts[::-1], histories[::-1], PRIOR)[::-1]
    assert [b.to_bytes() for b in forth] == [b.to_bytes() for b in back]


def test_predictions_are_the_chances_just_before():
    firsts, histories = made_up(20, 5, seed=6)
    said = predictions(firsts, histories, PRIOR)
    for first, history, chances in zip(firsts, histories, said, strict=True):
        belief = first
        assert len(chances) == len(history)
        for event, told in zip(history, chances, strict=True):
            now = chance(stack([belief]), event.at, PRIOR)[0]
            rated = [c for c, _ in event.levels] if isinstance(event, CheckEvent) else []
            assert np.flatnonzero(~np.isnan(told)).tolist() == sorted(rated)
            assert told[rated] == pytest.approx(now[rated], abs=1e-12)
            belief = after(belief, event, PRIOR)


def test_no_tunes_and_no_history():
    assert replay([], [], PRIOR) == []
    first = first_belief((0,), Declared.NEW, 0.0, PRIOR)
    assert replay([first], [[]], PRIOR)[0].to_bytes() == first.to_bytes()


def test_a_history_too_few_is_refused():
    with pytest.raises(ValueError, match="histories"):
        replay([first_belief((0,), Declared.NEW, 0.0, PRIOR)], [], PRIOR)
