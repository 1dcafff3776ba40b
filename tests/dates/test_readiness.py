from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.dates.readiness import Days, Readiness, forecast, if_asked, leave_out, schedule
from tunememory.dates.weights import FULL_DAYS
from tunememory.library.sets import set_standing
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief, stack
from tunememory.recall.chances import opening_columns, start_chances
from tunememory.recall.check import column_of
from tunememory.recall.forgetting import chance, felt_days, success_curve
from tunememory.recall.parameters import PRIOR
from tunememory.recall.state import SAFE
from tunememory.recall.update import EventRows, advance

NOW = 9000.0
TODAY = date(2026, 11, 25)
COLUMNS = range(column_of("A") + 1)
"""A tune with one part, and with every other strand there is."""


def beliefs(*words: Declared, since: float = 0.0):
    return stack([first_belief(COLUMNS, word, NOW - since, PRIOR) for word in words])


def days(until: int = 10, prompts: float = 8.0, off: tuple[int, ...] = ()) -> Days:
    playing = tuple(TODAY + timedelta(days=n) for n in range(until) if n not in off)
    return Days(NOW, TODAY, TODAY + timedelta(days=until), playing, prompts)


def simulated(one, asked_at, on, params=PRIOR, players=6000, seed=5) -> np.ndarray:
    """Share of players, drawn from the belief, that have each strand at ``on``.

    They answer by what they hold, learn as the memory model says, and its belief about each
    follows them.
    """
    rng = np.random.default_rng(seed)
    batch = stack([one] * players)
    held = rng.multivariate_normal(one.mean, one.cov, size=players)

    def chances(at, cut):
        felt = felt_days(np.maximum(at - batch.exposed_at, 0.0), params)
        p = success_curve(params.slope * (held - np.log(felt)) - cut)
        return params.lapse / 2 + (1 - params.lapse) * p

    for at in asked_at:
        draw = rng.random(held.shape)
        level = 1 + sum(
            (draw < chances(at, cut)).astype(int) for cut in (params.join_in, 0.0, params.kick_off)
        )
        rows = EventRows(
            at=np.full(players, at),
            day=np.full(players, int(at)),
            level=level,
            exposed=np.zeros(held.shape, dtype=bool),
            minutes=np.zeros(players),
        )
        doubt = 1.0 - advance(batch, rows, params).chance
        grown = params.gain * doubt**params.gain_power + params.gain_floor
        gain = np.select(
            [level == 4, level == 3], [grown, params.gain_found * grown], params.gain_failed
        )
        held = held + gain + rng.normal(0.0, np.sqrt(params.gain_noise), held.shape)
    return (rng.random(held.shape) < chances(on, 0.0)).mean(axis=0)


@pytest.mark.parametrize("word", [Declared.LEARNING, Declared.KNOWN, Declared.OLD_FRIEND])
@pytest.mark.parametrize("asked_on", [(), (2.0,), (1.0, 3.0, 6.0, 9.0)])
def test_the_forecast_is_what_simulated_players_come_to(word, asked_on):
    one = first_belief(COLUMNS, word, NOW, PRIOR)
    asked_at = [NOW + day for day in asked_on]
    batch = stack([one])
    told = if_asked(batch, np.array([asked_at]).reshape(1, -1), NOW + 12.0, PRIOR)[0]
    came = simulated(one, asked_at, NOW + 12.0)
    assert told == pytest.approx(came, abs=0.03)


@pytest.mark.parametrize(
    "changes",
    [{"gain_failed": 0.8}, {"gain_power": 3.0, "gain": 3.0}, {"gain_noise": 3.0},
     {"gain_found": 0.0}],
)  # fmt: skip
def test_one_check_is_foretold_exactly_for_other_players_too(changes):
    params = replace(PRIOR, **changes)
    one = first_belief(COLUMNS, Declared.LEARNING, NOW, params)
    for on in (6.0, 40.0):
        told = if_asked(stack([one]), np.array([[NOW + 4.0]]), NOW + on, params)[0]
        came = simulated(one, [NOW + 4.0], NOW + on, params, players=20_000)
        assert told == pytest.approx(came, abs=0.013)


def test_never_asked_is_what_the_model_says_of_that_day():
    batch = beliefs(*Declared)
    nothing = if_asked(batch, np.empty((4, 0)), NOW + 10, PRIOR)
    assert nothing == pytest.approx(chance(batch, NOW + 10, PRIOR), abs=1e-3)


def test_being_asked_helps():
    batch = beliefs(*Declared)
    said = forecast(batch, PRIOR, days())
    assert (said.kept > said.untouched).all()
    more = forecast(batch, PRIOR, days(prompts=40))
    assert (more.kept >= said.kept).all()
    assert more.asked.sum() > said.asked.sum()


def test_a_tune_is_ready_by_itself_by_the_plan_or_not_yet():
    said = forecast(beliefs(Declared.OLD_FRIEND, Declared.KNOWN, Declared.NEW), PRIOR, days(4))
    for row in range(3):
        wanted = (
            Readiness.READY
            if said.untouched[row] >= SAFE
            else Readiness.WILL_BE
            if said.kept[row] >= SAFE
            else Readiness.NOT_YET
        )
        assert said.of(row) is wanted
    assert said.of(2) is Readiness.NOT_YET
    assert said.ready == (said.kept >= SAFE).sum()


def test_on_the_day_itself_nothing_more_is_asked():
    said = forecast(beliefs(Declared.KNOWN), PRIOR, days(0))
    assert said.asked.tolist() == [0]
    assert said.kept == pytest.approx(said.untouched, abs=1e-3)


# --- the plan that works backwards ---


def test_most_is_asked_in_the_last_days_before():
    plan = schedule(np.linspace(0.2, 0.9, 40), days(20, prompts=8))
    by_day = [int(np.sum(plan == NOW + n)) for n in range(20)]
    assert by_day[-FULL_DAYS:] == [8] * FULL_DAYS
    assert all(2 <= number <= 3 for number in by_day[:-FULL_DAYS])


def test_room_that_is_less_than_a_tune_is_kept_for_the_next_day():
    plan = schedule(np.full(6, 0.5), days(5, prompts=0.5))
    asked_on = sorted(int(at - NOW) for at in plan[np.isfinite(plan)])
    assert asked_on == [1, 3]


def test_nothing_is_asked_on_days_off_or_past_the_date():
    plan = schedule(np.linspace(0.2, 0.9, 30), days(10, off=(2, 3, 7)))
    asked_on = {int(at - NOW) for at in plan[np.isfinite(plan)]}
    assert not asked_on & {2, 3, 7, 10}


def test_the_weakest_are_asked_first_and_no_tune_is_left_behind():
    chances = np.array([0.9, 0.3, 0.6, 0.1])
    plan = schedule(chances, days(3, prompts=2))
    first_day = [row for row in range(4) if NOW in plan[row]]
    assert first_day == [1, 3]
    counts = np.isfinite(plan).sum(axis=1)
    assert counts.max() - counts.min() <= 1


@given(st.integers(0, 30), st.floats(0.3, 30), st.integers(0, 12))
def test_a_plan_asks_a_tune_once_a_day_at_most_and_in_order(until, prompts, tunes):
    plan = schedule(np.linspace(0, 1, tunes), days(until, prompts))
    assert plan.shape[0] == tunes
    for row in plan:
        times = row[np.isfinite(row)]
        assert (np.diff(times) >= 1).all()
        assert np.isnan(row[len(times) :]).all()
        assert (times < NOW + until).all()


# --- what to leave out ---


def test_nothing_is_left_out_where_half_can_be_ready():
    assert leave_out(beliefs(*[Declared.OLD_FRIEND] * 3, Declared.NEW), PRIOR, days()) == ()


def test_the_weakest_are_left_out_where_less_than_half_can():
    words = [Declared.OLD_FRIEND, Declared.NEW, Declared.LEARNING, Declared.NEW, Declared.NEW]
    batch = beliefs(*words)
    out = leave_out(batch, PRIOR, days(3, prompts=1))
    assert out
    assert len(out) <= 3
    assert 0 not in out
    before = forecast(batch, PRIOR, days(3, prompts=1)).kept
    assert out[0] == before.argmin()
    staying = np.array([row for row in range(5) if row not in out])
    after = forecast(batch.rows(staying), PRIOR, days(3, prompts=1))
    assert after.ready >= len(staying) / 2 or len(staying) == 2


def test_a_third_always_stays():
    out = leave_out(beliefs(*[Declared.NEW] * 9, since=60), PRIOR, days(1, prompts=1))
    assert len(out) == 6


# --- sets ---


def test_a_set_is_as_ready_as_its_weakest_tune_and_join():
    good = set_standing([0.9, 0.85, 0.95], [0.9, 0.82])
    assert (good.chance, good.tune, good.join, good.ready) == (0.82, 1, 1, True)
    weak = set_standing([0.9, 0.5], [0.9])
    assert (weak.chance, weak.tune, weak.ready) == (0.5, 1, False)


def test_a_join_never_asked_keeps_a_set_from_being_ready():
    told = set_standing([0.9, 0.9], [None])
    assert (told.chance, told.join, told.unasked, told.ready) == (0.9, -1, 1, False)


def test_a_set_of_one_has_no_join():
    assert set_standing([0.9], []).ready
    with pytest.raises(ValueError, match="have 1 joins"):
        set_standing([0.9, 0.9], [])


# --- what decides whether a tune can be started ---


def test_the_weaker_of_key_and_first_start_decides():
    key, name, a, b = columns = [column_of(strand) for strand in ("key", "name", "A", "B")]
    shown = np.full((5, b + 1), np.nan)
    shown[:2, columns] = [[0.4, 0.1, 0.6, 0.2], [0.8, 0.1, 0.6, 0.2]]
    shown[2, [name, b]] = shown[3, name] = 0.3
    present = np.isfinite(shown)
    assert opening_columns(shown, present).tolist() == [key, a, b, name, -1]
    assert start_chances(shown, present).tolist() == [0.4, 0.6, 0.3, 0.3, 0.0]
