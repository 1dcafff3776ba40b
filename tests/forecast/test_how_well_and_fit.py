"""What was said against what came, fitting to the player, and going back."""

import json
import shutil
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import EPOCH, fixed_clock, to_days
from tunememory.errors import NotDoneError
from tunememory.forecast import own_parameters
from tunememory.forecast.how_well import calibrate, how_well_guessed, joined, looked_back, sentences
from tunememory.history.days import entry_of, whole_history
from tunememory.history.recording import record_check_away
from tunememory.recall import fitting
from tunememory.recall.check import Level
from tunememory.recall.fitting import ENOUGH_CHECKS
from tunememory.recall.parameters import PRIOR
from tunememory.recall.table import untouched
from tunememory.session import SWITCHED_TO, differing, in_force, in_use, open_session
from tunememory.store import records
from tunememory.store.records import ParameterSet


@pytest.fixture
def saltpan(saltpan_unlearned, tmp_path):
    path = tmp_path / "own.tunes"
    shutil.copy(saltpan_unlearned, path)
    with open_session(path, fixed_clock(SALTPAN_NOW)) as session:
        yield session


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


def test_a_first_belief_from_an_entry_is_that_of_the_tune(saltpan):
    for tune in saltpan.tunes.values():
        entry = entry_of(tune)
        first = untouched(tune, PRIOR)
        assert tuple(np.flatnonzero(first.present)) == tuple(sorted(entry.columns))
        since = first.exposed_at[first.present]
        assert (since <= entry.added_at).all()


def test_a_fit_that_foretells_better_is_used_and_does_not_boast(saltpan):
    before = how_well_guessed(saltpan)
    assert own_parameters.fit_is_due(saltpan)
    tried = own_parameters.try_fit(saltpan)
    assert tried.taken
    assert tried.won > 0
    assert tried.held_out >= 40
    assert saltpan.params != PRIOR
    state = own_parameters.guessed_with(saltpan)
    assert state.checks == saltpan.repertoire.checks.count()
    assert state.words == f"fitted on 2026-11-24 from {state.checks} checks"
    # Beliefs were rebuilt with it, to the bit.
    assert saltpan.repertoire.beliefs.version() == saltpan.params_version > 0
    assert differing(saltpan) == 0
    # Nothing it has seen is held against it or for it.
    after = how_well_guessed(saltpan)
    assert after == replace(before, own_since="2026-11-24")
    assert "since 2026-11-24" in sentences(after)[-1]
    evidence = json.loads(in_use(saltpan.repertoire).evidence)
    assert evidence["taken"] is True
    assert evidence["held_out_levels"] == tried.held_out
    # Tried on the later levels, then fitted to them as well.
    assert evidence["fitted_to_levels"] == evidence["tried_from_levels"] + tried.held_out
    assert evidence["between_9_in_10"]["slope"] == list(tried.ranges["slope"])
    low, high = tried.ranges["slope"]
    assert 0 < low < saltpan.params.slope < high
    known = own_parameters.uncertainty(saltpan)
    assert known is not None
    names, covariance = known
    assert covariance.shape == (len(names), len(names))
    assert np.linalg.eigvalsh(covariance).min() > 0


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
        firsts = [untouched(tune, own) for tune in tunes]
        parts.append(looked_back(firsts, histories, own, window))
    assert all(len(part.at) > 20 for part in parts)
    wanted = calibrate(joined(parts))
    assert found.log_loss == pytest.approx(wanted.log_loss)
    assert found.said == pytest.approx(wanted.said)
    assert found.own_since == saltpan.day_of(EPOCH + timedelta(days=cuts[0])).isoformat()


def test_going_back_is_kept_with_its_date(saltpan):
    own_parameters.try_fit(saltpan)
    fitted = saltpan.params
    own_parameters.guess_with_other(saltpan)
    own_parameters.guess_with_other(saltpan)
    used = in_force(saltpan.repertoire)
    assert [own for _, own in used] == [PRIOR, fitted, PRIOR, fitted]
    assert [moment for moment, _ in used[1:]] == [SALTPAN_NOW] * 3
    assert not own_parameters.fit_is_due(saltpan)


def test_there_and_back(saltpan):
    beliefs = saltpan.repertoire.beliefs.all()
    own_parameters.try_fit(saltpan)
    fitted = saltpan.params
    assert saltpan.repertoire.beliefs.all() != beliefs
    assert own_parameters.guess_with_other(saltpan).fitted_on is None
    assert saltpan.params == PRIOR
    assert saltpan.repertoire.beliefs.all() == beliefs
    assert differing(saltpan) == 0
    assert own_parameters.guessed_with(saltpan).words == "the starting values"
    assert own_parameters.guess_with_other(saltpan).fitted_on == saltpan.day()
    assert saltpan.params == fitted
    assert differing(saltpan) == 0


def test_one_try_for_so_many_checks_whatever_came_of_it(saltpan, monkeypatch):
    entries, histories = _all(saltpan)
    found = fitting.refit(entries, histories, PRIOR)
    worse = replace(found, won=-1.0)
    monkeypatch.setattr(own_parameters, "refit", lambda *_: worse)
    tried = own_parameters.try_fit(saltpan)
    assert not tried.taken
    assert tried.won < 0
    assert saltpan.params == PRIOR
    assert not own_parameters.fit_is_due(saltpan)
    assert not own_parameters.guessed_with(saltpan).other
    with pytest.raises(NotDoneError, match="nothing was fitted"):
        own_parameters.guess_with_other(saltpan)
    tunes = list(saltpan.tunes)
    # A quarter more than there were, which is more than the least.
    needed = -(-saltpan.repertoire.checks.count() // 4)
    assert needed > ENOUGH_CHECKS
    with saltpan.repertoire.writing():
        for number in range(needed):
            at = saltpan.now() - timedelta(minutes=needed - number)
            record_check_away(saltpan, tunes[number % 5], {"name": Level.FIND}, at)
            assert own_parameters.fit_is_due(saltpan) == (number == needed - 1)


def _all(session):
    tunes, histories = whole_history(session)
    return [entry_of(tune) for tune in tunes], histories


def test_too_few_checks_to_fit(session, kept):
    kept(2)
    assert not own_parameters.fit_is_due(session)
    with pytest.raises(NotDoneError, match="too few"):
        own_parameters.try_fit(session)
    assert session.repertoire.parameters.all() == []


def test_checks_rated_while_a_fit_is_made_are_not_lost(saltpan, monkeypatch):
    """Another window rates in the middle of the fit: what it rated is in the beliefs after."""
    real = fitting.refit
    tune = next(tune for tune in saltpan.active() if tune.starts)

    def and_meanwhile(*arguments):
        found = real(*arguments)
        with open_session(saltpan.path, fixed_clock(SALTPAN_NOW)) as other:
            record_check_away(other, tune.uuid, {"A": Level.KICK_OFF}, SALTPAN_NOW)
        return found

    monkeypatch.setattr(own_parameters, "refit", and_meanwhile)
    assert own_parameters.try_fit(saltpan).taken
    seen = saltpan.remembered.of(tune.uuid)
    assert np.nanmax(seen.exposed_at) == pytest.approx(to_days(SALTPAN_NOW))
    assert differing(saltpan) == 0


def test_another_window_follows_a_switch(saltpan):
    with open_session(saltpan.path, fixed_clock(SALTPAN_NOW)) as other:
        other.remembered.all()
        own_parameters.try_fit(saltpan)
        tune = next(other.active())
        record_check_away(other, tune.uuid, {"key": Level.FIND}, SALTPAN_NOW)
        assert other.params == saltpan.params
        assert differing(other) == 0
