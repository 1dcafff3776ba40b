from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, stats

from tests.recall.made_up import made_up
from tunememory.music.tune import Declared
from tunememory.recall.belief import Entry, first_beliefs
from tunememory.recall.check import column_of
from tunememory.recall.fitting import Track, fit, fit_players, refit, refit_players
from tunememory.recall.forgetting import elapsed_days, felt_days, mean_success, widening
from tunememory.recall.parameters import (
    PRIOR,
    PRIORS,
    Parameters,
    from_working,
    side_by_side,
    to_working,
)
from tunememory.recall.update import CheckEvent, ExposureEvent, advance, advance_some, event_rows

TOLD = ("slope", "just_learned", "gain", "gain_failed", "gain_noise", "join_in", "kick_off")
"""Parameters that a year of checks can tell of."""

COLUMNS = tuple(column_of(strand) for strand in ("key", "A", "B"))


def players(each: list[Parameters], tunes: int, checks: int, seed: int, days: float = 300.0):
    """Checks of several players whose memory is as the model says, with their own parameters.

    One strand a check; its level is drawn from what the belief under the true parameters says.
    """
    rng = np.random.default_rng(seed)
    words = list(Declared)
    entries = [Entry(COLUMNS, words[int(rng.integers(4))], 0.0) for _ in range(tunes * len(each))]
    owner = np.repeat(np.arange(len(each)), tunes)
    params = side_by_side([each[p] for p in owner])
    beliefs = first_beliefs(entries, params)
    histories = [[] for _ in entries]
    for at in np.sort(rng.uniform(0.5, days, checks)):
        rows = np.arange(len(each)) * tunes + rng.integers(0, tunes, len(each))
        column = rng.choice(COLUMNS, len(each))
        some, own = beliefs.rows(rows), params.of_rows(rows)
        who = np.arange(len(rows))
        elapsed = elapsed_days(some.exposed_at[who, column], at)
        variance = some.cov[who, column, column] + widening(elapsed, own)
        log_time = np.log(felt_days(elapsed, own))
        mean = some.mean[who, column]
        at_least = [
            mean_success(mean, variance, log_time, own, cut)
            for cut in (own.join_in, 0.0, own.kick_off)
        ]
        luck = rng.random(len(rows))
        level = 1 + np.sum([luck < p for p in at_least], axis=0)
        events = [
            CheckEvent(float(at), int(at), ((int(c), int(y)),))
            for c, y in zip(column, level, strict=True)
        ]
        advance_some(beliefs, rows, event_rows(events, 1 + max(COLUMNS)), params)
        for row, event in zip(rows, events, strict=True):
            histories[row].append(event)
    return entries, histories, owner


def drawn(count: int, seed: int) -> list[Parameters]:
    """Players as the prior has them, in what ``TOLD`` names."""
    rng = np.random.default_rng(seed)
    centre = to_working(PRIOR, TOLD)
    sd = np.array([PRIORS[name].sd for name in TOLD])
    return [from_working(centre + sd * rng.standard_normal(len(TOLD)), TOLD) for _ in range(count)]


def test_working_scales_there_and_back():
    own = replace(PRIOR, slope=1.7, lapse=0.08, gain_failed=-0.1, same_day=0.9)
    back = from_working(to_working(own), base=own)
    assert to_working(back) == pytest.approx(to_working(own))
    assert back.lapse == pytest.approx(0.08)


def foretold(entries, histories, params, since=None):
    """Log chance of the levels of one player, and how many they are."""
    one = np.zeros(len(entries), dtype=np.int64)
    parts = list(Track(entries, histories).run([params], one, since))
    return tuple(float(sum(part[k].sum() for part in parts)) for k in (1, 2))


def test_what_is_foretold_is_the_sum_of_what_single_updates_say():
    _, histories = made_up(15, 5, seed=5)
    entries = [Entry((0, 1, 2, 3, 4, 5), Declared.KNOWN, 9000.0) for _ in histories]
    total, count = foretold(entries, histories, PRIOR)
    wanted, levels = 0.0, 0
    for entry, history in zip(entries, histories, strict=True):
        beliefs = first_beliefs([entry], PRIOR)
        for event in history:
            said = advance(beliefs, event_rows([event], 6), PRIOR).likelihood
            wanted += float(np.nansum(np.log(said)))
            levels += int((~np.isnan(said)).sum())
    assert total == pytest.approx(wanted, abs=1e-9)
    assert count == levels > 50


def test_the_fit_is_the_top_of_the_posterior():
    entries, histories, _ = players([replace(PRIOR, slope=1.4, gain=1.6)], 40, 600, seed=3)
    names = ("slope", "just_learned", "gain")
    found = fit(entries, histories, names)

    def minus(values):
        away = (values - to_working(PRIOR, names)) / [PRIORS[n].sd for n in names]
        own = from_working(values, names)
        return 0.5 * float(away @ away) - foretold(entries, histories, own)[0]

    start = to_working(PRIOR, names)
    corners = np.vstack([start, start + np.eye(3) * [PRIORS[n].sd for n in names]])
    options = {"xatol": 0.01, "fatol": 0.002, "initial_simplex": corners}
    best = optimize.minimize(minus, start, method="Nelder-Mead", options=options)
    assert minus(to_working(found.parameters, names)) == pytest.approx(best.fun, abs=0.02)
    assert found.checks == 600


def test_without_checks_the_prior_stays():
    found = fit([Entry((0,), Declared.NEW, 0.0)], [[]])
    assert to_working(found.parameters) == pytest.approx(to_working(PRIOR))
    sd = np.sqrt(np.diag(found.covariance))
    assert sd == pytest.approx([PRIORS[name].sd for name in PRIORS])
    ends = found.ranges(0.9)
    for name, (low, high) in ends.items():
        assert low < getattr(PRIOR, name) < high
    assert ends["gain_failed"] == pytest.approx(stats.norm(0.15, 0.2).interval(0.9))
    assert np.log(ends["slope"]) == pytest.approx(stats.norm(0.0, 0.35).interval(0.9))
    assert np.log(-np.array(ends["join_in"])) == pytest.approx(
        np.log(1.1) + np.array(stats.norm(0.0, 0.35).interval(0.9))[::-1]
    )


def test_players_fitted_together_come_out_as_alone():
    entries, histories, owner = players(drawn(3, seed=1), 20, 250, seed=4)
    together = fit_players(entries, histories, owner, TOLD)
    for p in range(3):
        own = np.flatnonzero(owner == p)
        alone = fit([entries[t] for t in own], [histories[t] for t in own], TOLD)
        assert to_working(alone.parameters, TOLD) == pytest.approx(
            to_working(together[p].parameters, TOLD), abs=1e-6
        )


def test_levels_from_a_day_on_are_left_out_and_tried():
    entries, histories, owner = players([PRIOR], 30, 400, seed=6)
    early = [[e for e in history if e.at < 200.0] for history in histories]
    until = fit_players(entries, histories, owner, TOLD, until=np.array([200.0]))[0]
    known = fit(entries, early, TOLD).parameters
    assert to_working(until.parameters, TOLD) == pytest.approx(to_working(known, TOLD), abs=1e-6)


def test_another_memory_is_found_out_and_the_prior_itself_is_not_improved_on():
    strange = replace(PRIOR, slope=1.8, just_learned=0.2, gain=2.0, kick_off=0.4)
    entries, histories, _ = players([strange], 60, 1500, seed=7)
    tried = refit(entries, histories, PRIOR)
    assert tried.better
    assert tried.won > 20
    assert tried.held_out == pytest.approx(300, abs=5)
    # Told the truth, no fit can do better but by luck.
    again = refit(entries, histories, strange)
    assert again.won < 5


def test_what_was_tried_on_later_checks_is_then_fitted_to_them_too():
    entries, histories, owner = players([replace(PRIOR, slope=1.8), PRIOR], 25, 500, seed=9)
    tried = refit_players(entries, histories, owner, [PRIOR, PRIOR], TOLD)
    assert tried[0].better
    alone = fit_players(entries, histories, owner, TOLD)
    for one, whole in zip(tried, alone, strict=True):
        if one.better:
            assert one.tried.checks + one.held_out == one.fitted.checks == 500
            off = to_working(one.fitted.parameters, TOLD) - to_working(whole.parameters, TOLD)
            assert (np.abs(off) < 0.2 * np.sqrt(np.diag(whole.covariance))).all()
        else:
            assert one.fitted == one.tried


def test_some_tunes_show_where_to_begin_and_all_decide(monkeypatch):
    entries, histories, owner = players([replace(PRIOR, slope=1.6, gain=1.5)], 80, 1200, seed=10)
    whole = fit_players(entries, histories, owner, TOLD)[0]
    monkeypatch.setattr("tunememory.recall.fitting._SAMPLE", 200)
    few = Track(entries, histories).sample(owner, 200)
    assert few is not None
    assert 150 < sum(len(histories[t]) for t in few) < 300
    near = fit_players(entries, histories, owner, TOLD)[0]
    assert near.parameters != whole.parameters  # another way to the same place
    assert near.checks == 1200
    off = to_working(near.parameters, TOLD) - to_working(whole.parameters, TOLD)
    assert (np.abs(off) < 0.2 * np.sqrt(np.diag(whole.covariance))).all()


def test_a_sample_of_nearly_all_tunes_is_none():
    entries, histories, owner = players([PRIOR, PRIOR], 10, 100, seed=10)
    assert Track(entries, histories).sample(owner, 80) is None
    few = Track(entries, histories).sample(owner, 20)
    assert few is not None
    assert len(few) == 4


def test_a_few_checks_are_no_proof():
    entries, histories, _ = players([replace(PRIOR, slope=2.0)], 20, 60, seed=8)
    assert not refit(entries, histories, PRIOR).better


def test_fits_taken_on_trial_foretell_the_future_better_on_the_whole():
    each = drawn(12, seed=21)
    entries, histories, owner = players(each, 40, 1000, seed=22)
    early = [[e for e in history if e.at < 200.0] for history in histories]
    tried = refit_players(entries, early, owner, [PRIOR] * 12, TOLD)
    won, after = 0.0, np.array([200.0])
    for p, new in enumerate(tried):
        own = np.flatnonzero(owner == p)
        if not new.better:
            continue
        now, was = (
            foretold([entries[t] for t in own], [histories[t] for t in own], params, after)[0]
            for params in (new.fitted.parameters, PRIOR)
        )
        won += now - was
    assert sum(new.better for new in tried) >= 6
    assert won > 50


def test_playing_tells_nothing_by_itself_and_histories_must_match():
    entry = Entry((0, 2), Declared.KNOWN, 0.0)
    played = [ExposureEvent(5.0, 5, (0, 2), 3.0)]
    assert foretold([entry], [played], PRIOR) == (0.0, 0)
    with pytest.raises(ValueError, match="histories"):
        Track([entry], [])


@pytest.mark.slow
def test_parameters_are_recovered_and_intervals_hold_what_they_say():
    """Simulated players as the prior has them; own method, after Cook, Gelman & Rubin (2006),
    Journal of Computational and Graphical Statistics 15, 675-692."""
    each = drawn(48, seed=11)
    entries, histories, owner = players(each, 60, 1200, seed=12)
    found = fit_players(entries, histories, owner, TOLD)
    truth = np.array([to_working(one, TOLD) for one in each])
    middle = np.array([to_working(one.parameters, TOLD) for one in found])
    sd = np.array([np.sqrt(np.diag(one.covariance)) for one in found])
    off = np.abs(truth - middle) / sd
    for share, least, most in ((0.5, 0.42, 0.58), (0.9, 0.84, 0.95)):
        held = float((off < stats.norm.ppf(0.5 + share / 2)).mean())
        assert least < held < most, (share, held)
    for k, name in enumerate(TOLD):
        assert np.corrcoef(truth[:, k], middle[:, k])[0, 1] > 0.4, name
    prior_sd = np.array([PRIORS[name].sd for name in TOLD])
    # The slope is known to a quarter or better of what the prior leaves open.
    assert sd[:, 0].mean() < 0.4 * prior_sd[0]
