"""Fitting to the player, going back, and the focus that follows from the checks."""

import json
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from tests.saltpan import SALTPAN_NOW
from tunememory.clock import fixed_clock, to_days
from tunememory.errors import NotDoneError
from tunememory.forecast import own_parameters
from tunememory.forecast.how_well import how_well_guessed, sentences
from tunememory.forecast.own_parameters import (
    BEGIN,
    BOLD,
    DOUBTFUL,
    EVEN,
    FIRST_LOOK,
    HARDLY,
    LEAST,
    PATIENCE,
    SURE,
    focus_for,
    next_look,
)
from tunememory.history import entry_of, record_check_away, whole_history
from tunememory.recall import fitting
from tunememory.recall.check import Level
from tunememory.recall.fitting import ENOUGH_CHECKS
from tunememory.recall.parameters import PRIOR
from tunememory.recall.table import each_untouched
from tunememory.session import differing, in_force, in_use, last_look, open_session


def test_a_first_belief_from_an_entry_is_that_of_the_tune(saltpan):
    for tune in saltpan.tunes.values():
        entry = entry_of(tune)
        (first,) = each_untouched([tune], PRIOR)
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
    seen = saltpan.beliefs.of(tune.uuid)
    assert np.nanmax(seen.exposed_at) == pytest.approx(to_days(SALTPAN_NOW))
    assert differing(saltpan) == 0


def test_another_window_follows_a_switch(saltpan):
    with open_session(saltpan.path, fixed_clock(SALTPAN_NOW)) as other:
        other.beliefs.all()
        own_parameters.try_fit(saltpan)
        tune = next(other.active())
        record_check_away(other, tune.uuid, {"key": Level.FIND}, SALTPAN_NOW)
        assert other.params == saltpan.params
        assert differing(other) == 0


@pytest.mark.parametrize(
    ("sharp", "checks", "in_use", "expected"),
    [
        (SURE + 1, FIRST_LOOK, BEGIN, BOLD),
        (SURE + 1, 5000, EVEN, BOLD),
        (HARDLY + 1, LEAST, BOLD, BOLD),
        (HARDLY - 1, LEAST, BOLD, EVEN),
        (DOUBTFUL - 1, LEAST, BEGIN, EVEN),
        (DOUBTFUL - 1, LEAST - 1, BEGIN, BEGIN),
        (DOUBTFUL + 1, PATIENCE, BEGIN, BEGIN),
        (DOUBTFUL + 1, PATIENCE + 1, BEGIN, EVEN),
    ],
)
def test_focus_follows_how_sharp_memory_is(sharp, checks, in_use, expected) -> None:
    assert focus_for(sharp, checks, in_use) == expected


def test_a_look_is_due_with_some_checks_and_then_with_a_share_more() -> None:
    assert next_look(0) == FIRST_LOOK
    assert 1050 < next_look(1000) < 1150


def test_a_new_file_plans_as_one_begins_and_needs_checks_for_more(session) -> None:
    assert session.params.focus == BEGIN
    assert not own_parameters.look_is_due(session)


@pytest.mark.parametrize(("sharp", "focus"), [(9.0, BOLD), (-9.0, EVEN)])
def test_what_the_checks_say_is_used_and_stays(saltpan, monkeypatch, sharp, focus) -> None:
    monkeypatch.setattr(
        "tunememory.forecast.own_parameters.sharpness", lambda entries, histories: sharp
    )
    assert saltpan.repertoire.checks.count() >= FIRST_LOOK
    assert own_parameters.look_is_due(saltpan)
    assert own_parameters.look(saltpan) == focus
    assert saltpan.params.focus == focus
    assert not own_parameters.look_is_due(saltpan)
    with open_session(saltpan.path, fixed_clock(SALTPAN_NOW)) as again:
        assert again.params.focus == focus


def test_the_look_itself_reads_the_whole_history(saltpan) -> None:
    own_parameters.look(saltpan)
    kept = last_look(saltpan.repertoire)
    assert kept[own_parameters.LOOKED_AT] == saltpan.repertoire.checks.count()
    assert kept["leaning"] != 0.0


def test_a_look_is_no_fit_and_changes_no_chance(saltpan) -> None:
    before = how_well_guessed(saltpan)
    own_parameters.look(saltpan)
    assert how_well_guessed(saltpan) == before
    assert len(in_force(saltpan.repertoire)) == 1
    assert own_parameters.guessed_with(saltpan).fitted_on is None
    assert own_parameters.fit_is_due(saltpan)


def test_a_fit_taken_later_keeps_the_focus(saltpan, monkeypatch) -> None:
    monkeypatch.setattr(
        "tunememory.forecast.own_parameters.sharpness", lambda entries, histories: 9.0
    )
    own_parameters.look(saltpan)
    own_parameters.try_fit(saltpan)
    assert saltpan.params.focus == BOLD


def test_every_look_keeps_what_it_rests_on(saltpan) -> None:
    own_parameters.look(saltpan)
    kept = [one for one in saltpan.repertoire.parameters.all() if not one.active]
    assert json.loads(kept[-1].evidence).keys() == {"focus", "looked_at_checks", "leaning"}


def test_the_words_differ() -> None:
    assert len({own_parameters.focus_words(focus) for focus in (EVEN, BEGIN, BOLD)}) == 3
