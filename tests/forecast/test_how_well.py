"""What was said against what came, beside NumPy and SciPy."""

import json
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.recall.made_up import made_up
from tunememory.clock import EPOCH
from tunememory.forecast.how_well import (
    ENOUGH,
    ENOUGH_IN_A_STEP,
    Promises,
    calibrate,
    how_well_guessed,
    joined,
    looked_back,
    sentences,
    wilson_range,
)
from tunememory.history import record_check_away, whole_history
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief
from tunememory.recall.check import Level
from tunememory.recall.parameters import PRIOR
from tunememory.recall.replay import predictions
from tunememory.recall.table import each_untouched
from tunememory.recall.update import CheckEvent, Event, ExposureEvent
from tunememory.session import SWITCHED_TO
from tunememory.store import records
from tunememory.store.records import ParameterSet


def promises(chance, came, weight=None):
    chance = np.asarray(chance, dtype=float)
    came = np.asarray(came, dtype=bool)
    weight = np.ones(len(chance)) if weight is None else np.asarray(weight, dtype=float)
    return Promises(np.arange(len(chance), dtype=float), chance, came, weight)


@pytest.fixture
def drawn():
    """Give ``count`` promises that come true as often as ``truth`` of what is said."""

    def make(count, truth=lambda p: p, seed=3):
        rng = np.random.default_rng(seed)
        chance = rng.uniform(0.02, 0.98, count)
        return promises(chance, rng.random(count) < truth(chance))

    return make


@given(st.integers(0, 400), st.integers(1, 400), st.sampled_from([0.5, 0.8, 0.95]))
def test_the_range_is_wilsons(came, more, width):
    count = came + more
    ours = wilson_range(came / count, count, width)
    theirs = stats.binomtest(came, count).proportion_ci(width, method="wilson")
    assert ours == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_losses_and_shares_beside_numpy(drawn):
    seen = drawn(700)
    got = calibrate(seen)
    y, p = seen.came.astype(float), seen.chance
    assert got.levels == 700
    assert got.checks == pytest.approx(700)
    assert got.said == pytest.approx(p.mean())
    assert got.came == pytest.approx(y.mean())
    assert got.log_loss == pytest.approx(-np.mean(stats.bernoulli.logpmf(y, p)))
    assert got.brier == pytest.approx(np.mean((y - p) ** 2))
    assert got.average_log_loss == pytest.approx(stats.bernoulli.entropy(y.mean()))
    assert got.average_brier == pytest.approx(y.var())
    edges = np.linspace(0, 1, 11)
    counts, _, place = stats.binned_statistic(p, p, "count", bins=edges)
    assert [step.levels for step in got.steps] == counts.astype(int).tolist()
    for number, step in enumerate(got.steps):
        assert step.said == pytest.approx(p[place == number + 1].mean())
        assert step.came == pytest.approx(y[place == number + 1].mean())
        assert step.low <= step.came <= step.high


def test_levels_of_one_check_are_not_several_proofs():
    once = promises([0.7] * 40, [True] * 28 + [False] * 12)
    thrice = promises(np.repeat(once.chance, 3), np.repeat(once.came, 3), np.full(120, 1 / 3))
    one, three = calibrate(once), calibrate(thrice)
    assert three.levels == 3 * one.levels
    assert three.checks == pytest.approx(one.checks)
    assert three.spread == pytest.approx(one.spread)
    assert three.log_loss == pytest.approx(one.log_loss)
    (a,), (b,) = one.steps, three.steps
    assert a.begin == 0.7
    assert (b.low, b.high) == pytest.approx((a.low, a.high))


def test_the_spread_is_that_of_many_draws():
    rng = np.random.default_rng(8)
    chance = rng.uniform(0.1, 0.9, 200)
    seen = [calibrate(promises(chance, rng.random(200) < chance)) for _ in range(600)]
    off = [got.came - got.said for got in seen]
    assert np.std(off) == pytest.approx(seen[0].spread, rel=0.1)


def test_true_promises_hold_and_false_ones_lean(drawn):
    true = calibrate(drawn(3000))
    assert true.leaning == 0
    assert sum(step.holds for step in true.steps) >= 6
    assert true.log_loss < true.average_log_loss
    assert true.brier < true.average_brier
    assert calibrate(drawn(3000, lambda p: p**2)).leaning == 1
    assert calibrate(drawn(3000, np.sqrt)).leaning == -1


def test_said_backwards_is_worse_than_the_average(drawn):
    got = calibrate(drawn(500, lambda p: 1 - p))
    assert got.log_loss > got.average_log_loss
    assert got.brier > got.average_brier


def test_with_few_checks_nothing_is_concluded(drawn):
    assert not calibrate(drawn(ENOUGH - 1)).enough
    assert calibrate(drawn(ENOUGH)).enough
    few = calibrate(promises([0.55] * (ENOUGH_IN_A_STEP - 1), [True] * (ENOUGH_IN_A_STEP - 1)))
    (step,) = few.steps
    assert not step.enough
    assert step.begin == 0.5
    # The reasons given for the two numbers.
    for count, reach in ((ENOUGH, 0.07), (25, 0.13), (ENOUGH_IN_A_STEP, 0.12)):
        low, high = wilson_range(0.5, count)
        assert (high - low) / 2 < reach


def test_nothing_at_all_is_no_fault():
    got = calibrate(promises([], []))
    assert (got.levels, got.checks, got.enough, got.leaning) == (0, 0, False, 0)
    assert got.steps == ()


def test_a_chance_of_one_that_fails_costs_much_but_not_everything():
    got = calibrate(promises([1.0, 1.0], [True, False]))
    assert [(step.begin, step.levels) for step in got.steps] == [(0.9, 2)]
    assert 5 < got.log_loss < 30


def test_only_the_first_meeting_of_a_day_counts_and_only_cold():
    first = first_belief((0, 1, 2), Declared.KNOWN, 9000.0, PRIOR)
    history: list[Event] = [
        CheckEvent(9001.0, 9001, ((0, 4), (2, 3))),
        CheckEvent(9001.1, 9001, ((0, 1),)),  # again that day
        CheckEvent(9005.0, 9005, ((1, 4),), cold=False),  # a last round
        ExposureEvent(9008.0, 9008, (0, 1, 2), 5.0),  # played first
        CheckEvent(9008.1, 9008, ((0, 1),)),
        CheckEvent(9020.0, 9020, ((0, 3), (7, 4)), hints=1),  # a strand it has not; a hint
    ]
    got = looked_back([first], [history], PRIOR)
    assert got.at.tolist() == [9001.0, 9001.0, 9020.0]
    assert got.came.tolist() == [True, True, False]
    assert got.weight.tolist() == [0.5, 0.5, 1.0]
    said = predictions([first], [history], PRIOR)[0]
    assert got.chance.tolist() == [said[0][0], said[0][2], said[5][0]]


def test_looking_back_at_many_tunes():
    firsts, histories = made_up(30, 8, seed=12)
    got = looked_back(firsts, histories, PRIOR)
    alone = [looked_back([f], [h], PRIOR) for f, h in zip(firsts, histories, strict=True)]
    assert np.concatenate([one.chance for one in alone]).tolist() == got.chance.tolist()
    early = got.at < np.median(got.at)
    again = joined([got.where(early), got.where(~early)])
    assert calibrate(again).log_loss == pytest.approx(calibrate(got).log_loss)


def test_a_window_keeps_what_was_said_of_its_checks():
    firsts, histories = made_up(30, 8, seed=13)
    whole = looked_back(firsts, histories, PRIOR)
    cuts = [-np.inf, *np.quantile(whole.at, [0.3, 0.6]), np.inf]
    parts = [looked_back(firsts, histories, PRIOR, window) for window in pairwise(cuts)]
    for part, (since, until) in zip(parts, pairwise(cuts), strict=True):
        inside = whole.where((whole.at >= since) & (whole.at < until))
        assert len(inside.at) > 5
        assert part.chance.tolist() == inside.chance.tolist()
        assert part.weight.tolist() == inside.weight.tolist()
    assert looked_back(firsts, histories, PRIOR, (1.0, 2.0)).at.size == 0


def test_nothing_yet_is_said_kindly(session):
    found = how_well_guessed(session)
    assert (found.checks, found.steps, found.enough) == (0, (), False)
    assert "No cold check yet" in sentences(found)[0]


def test_too_few_checks_are_said_to_be_too_few(session, kept, hands):
    for uuid in kept(8):
        hands.forward(days=1)
        record_check_away(session, uuid, {"key": Level.FIND, "A": Level.SIT_OUT}, hands.now())
    found = how_well_guessed(session)
    assert found.checks == 8
    assert found.came == 0.5
    assert not found.enough
    (said,) = sentences(found)
    assert said.startswith("8 cold checks so far. From about 100 on")


def test_a_long_history_is_judged(saltpan):
    found = how_well_guessed(saltpan)
    assert found.enough
    assert 100 < found.checks <= saltpan.repertoire.checks.count()
    assert all(s.low <= s.came <= s.high for s in found.steps)
    assert all(s.begin <= s.said <= s.begin + 0.1 for s in found.steps)
    assert found.log_loss < found.average_log_loss
    assert found.said == pytest.approx(
        sum(s.said * s.checks for s in found.steps) / sum(s.checks for s in found.steps)
    )
    first = sentences(found)[0]
    words = {1: "too much", -1: "too little", 0: "guess right"}
    assert words[found.leaning] in first


def test_every_check_is_judged_by_what_was_in_use_when_it_came(saltpan):
    """Two fits and a way back, put into the past by their dates."""
    tunes, histories = whole_history(saltpan)
    moments = sorted(event.at for history in histories for event in history)
    cuts = [moments[k * len(moments) // 4] for k in (1, 2, 3)]
    early, late = replace(PRIOR, slope=0.4), replace(PRIOR, slope=2.0)
    for at, own, evidence in (
        (cuts[0], early, {"taken": True}),
        (moments[-1], PRIOR, {"taken": False}),  # tried, not taken: nothing changes
        (cuts[1], None, {SWITCHED_TO: None}),
        (cuts[2], late, {"taken": True}),
    ):
        numbers = json.dumps(own.as_dict()) if own else "{}"
        uuid = records.new_identity()
        made = EPOCH + timedelta(days=at)
        saltpan.repertoire.parameters.add(
            ParameterSet(uuid, made, numbers, json.dumps(evidence), own is late)
        )
    saltpan.reload()
    found = how_well_guessed(saltpan)
    parts = []
    for own, window in zip((PRIOR, early, PRIOR, late), pairwise([0, *cuts, 1e9]), strict=True):
        firsts = each_untouched(tunes, own)
        parts.append(looked_back(firsts, histories, own, window))
    assert all(len(part.at) > 20 for part in parts)
    wanted = calibrate(joined(parts))
    assert found.log_loss == pytest.approx(wanted.log_loss)
    assert found.said == pytest.approx(wanted.said)
    assert found.own_since == saltpan.day_of(EPOCH + timedelta(days=cuts[0])).isoformat()
