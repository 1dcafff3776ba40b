from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunememory.history import HOW, WHAT, Pace
from tunememory.rounds.candidates import Candidates, Pick
from tunememory.rounds.choosing import (
    JOIN_SHARE,
    LEAST_PROMPTS,
    LEAST_WORTH,
    UNMET_DAYS,
    Wishes,
    another,
    first_round,
    last_round,
    not_met_since,
    once_more,
)

NOW = 9000.0
PACE = Pace(how=15.0, what=10.0)
Make = Callable[..., Candidates]


def wishes(**given_: object) -> Wishes:
    return Wishes(**{"minutes": 2.0, "instrument": "GDAE", **given_})  # type: ignore[arg-type]


def places(plan_picks: tuple[Pick, ...]) -> list[int]:
    return [pick.place for pick in plan_picks]


def test_a_round_fits_the_minutes(candidates: Make) -> None:
    plan = first_round(candidates(40), wishes(minutes=2.0), PACE, NOW)
    seconds = sum(PACE.of(pick.prompt) for pick in plan.picks)
    assert seconds <= 120
    assert seconds + PACE.how > 120


def test_a_very_short_round_still_asks_one(candidates: Make) -> None:
    assert len(first_round(candidates(5), wishes(minutes=0.05), PACE, NOW).picks) == 1


def test_what_is_worth_most_comes_in(candidates: Make) -> None:
    value = np.full((30, 2), 1.0)
    value[[4, 9, 17], HOW] = 50.0
    plan = first_round(candidates(30, value=value), wishes(minutes=1.0), PACE, NOW)
    assert {4, 9, 17} <= set(places(plan.picks))


def test_what_is_as_good_as_sure_is_left_out(candidates: Make) -> None:
    value = np.full((30, 2), LEAST_WORTH / 2)
    value[:6] = 9.0
    plan = first_round(candidates(30, value=value), wishes(minutes=9.0), PACE, NOW)
    assert sorted(places(plan.picks)) == [0, 1, 2, 3, 4, 5]
    few = first_round(candidates(30, value=value / 100), wishes(minutes=9.0), PACE, NOW)
    assert len(few.picks) == LEAST_PROMPTS


def test_worth_is_counted_per_second(candidates: Make) -> None:
    # What takes two thirds of the time of How, so a little less worth still wins.
    value = np.tile([30.0, 25.0], (4, 1))
    plan = first_round(candidates(4, value=value), wishes(), PACE, NOW)
    assert {pick.prompt for pick in plan.picks} == {WHAT}


def test_one_prompt_a_tune(candidates: Make) -> None:
    plan = first_round(candidates(6), wishes(minutes=10), PACE, NOW)
    assert sorted(places(plan.picks)) == list(range(6))


def test_asked_put_off_and_unaskable_tunes_stay_out(candidates: Make) -> None:
    base = candidates(6)
    base.asked_today[0] = base.put_off[1] = True
    base.askable[2] = False
    plan = first_round(base, wishes(minutes=10), PACE, NOW)
    assert sorted(places(plan.picks)) == [3, 4, 5]


def test_one_tuning_the_one_the_instrument_is_in(candidates: Make) -> None:
    tuning = ("AEAE",) * 5 + ("GDAE",) * 5
    plan = first_round(candidates(10, tuning=tuning), wishes(minutes=10), PACE, NOW)
    assert plan.tuning == "GDAE"
    assert sorted(places(plan.picks)) == [5, 6, 7, 8, 9]
    assert plan.waiting == ()


def test_a_tuning_that_waited_is_offered_not_imposed(candidates: Make) -> None:
    tuning = ("AEAE",) * 5 + ("GDAE",) * 5
    last_met = np.r_[np.full(5, NOW - 16), np.full(5, NOW - 2)]
    base = candidates(10, tuning=tuning, last_met=last_met)
    plan = first_round(base, wishes(minutes=10), PACE, NOW)
    assert plan.tuning == "GDAE"
    assert [(w.tuning, w.tunes, w.days) for w in plan.waiting] == [("AEAE", 5, 16.0)]
    changed = first_round(base, wishes(minutes=10, tuning="AEAE"), PACE, NOW)
    assert sorted(places(changed.picks)) == [0, 1, 2, 3, 4]


def test_nothing_to_ask_in_the_instruments_tuning_takes_the_best_other(candidates: Make) -> None:
    tuning = ("AEAE",) * 3 + ("GDGD",) * 3
    value = np.full((6, 2), 10.0)
    value[3:] = 40.0
    plan = first_round(candidates(6, tuning=tuning, value=value), wishes(minutes=5), PACE, NOW)
    assert plan.tuning == "GDGD"


def test_neighbours_have_different_roots(candidates: Make) -> None:
    root = np.array([0] * 4 + [2] * 4 + [7] * 4)
    plan = first_round(candidates(12, root=root), wishes(minutes=10), PACE, NOW)
    roots = [int(root[place]) for place in places(plan.picks)]
    assert all(one != other for one, other in itertools.pairwise(roots))


def test_intake_lets_the_longest_in_learning_go_on(candidates: Make) -> None:
    learning = np.zeros(8, dtype=bool)
    learning[[1, 3, 5, 7]] = True
    added = np.array([0, 40, 0, 10, 0, 30, 0, 20])
    base = candidates(8, learning=learning, added=added)
    plan = first_round(base, wishes(minutes=10, intake=2), PACE, NOW)
    assert {p for p in places(plan.picks) if learning[p]} == {3, 7}


def test_the_twin_of_a_new_tune_is_not_asked_the_same_evening(candidates: Make) -> None:
    new = np.zeros(6, dtype=bool)
    new[0] = True
    twins = {0: frozenset({1}), 1: frozenset({0})}
    chosen = places(
        first_round(candidates(6, new=new, twins=twins), wishes(minutes=9), PACE, NOW).picks
    )
    assert len({0, 1} & set(chosen)) == 1


def test_twins_both_known_stand_side_by_side(candidates: Make) -> None:
    twins = {0: frozenset({5}), 5: frozenset({0})}
    chosen = places(first_round(candidates(6, twins=twins), wishes(minutes=9), PACE, NOW).picks)
    assert abs(chosen.index(0) - chosen.index(5)) == 1


def test_a_known_twin_is_brought_beside_its_mate(candidates: Make) -> None:
    twins = {0: frozenset({25}), 25: frozenset({0})}
    plan = first_round(candidates(30, twins=twins), wishes(minutes=2), PACE, NOW)
    chosen = places(plan.picks)
    assert 25 in chosen
    assert abs(chosen.index(0) - chosen.index(25)) == 1


def test_every_kept_tune_is_met_however_sure(candidates: Make) -> None:
    last_met = np.full(30, NOW - 5.0)
    last_met[29] = NOW - UNMET_DAYS - 1
    plan = first_round(candidates(30, last_met=last_met), wishes(minutes=2), PACE, NOW)
    assert 29 in places(plan.picks)


def test_a_tune_as_good_as_sure_is_met_again_too(candidates: Make) -> None:
    last_met = np.full(30, NOW - 5.0)
    last_met[29] = NOW - UNMET_DAYS - 1
    value = np.full((30, 2), 9.0)
    value[29] = LEAST_WORTH / 100
    plan = first_round(candidates(30, last_met=last_met, value=value), wishes(), PACE, NOW)
    assert 29 in places(plan.picks)


def test_a_tune_never_asked_is_asked_some_day(candidates: Make) -> None:
    last_met = np.full(30, NOW - 5.0)
    last_met[7] = np.nan
    plan = first_round(candidates(30, last_met=last_met), wishes(), PACE, NOW)
    assert 7 in places(plan.picks)


def test_coming_back_the_surest_first_and_no_more_than_usual(candidates: Make) -> None:
    base = candidates(40, last_met=np.full(40, NOW - 120.0))
    usual = first_round(candidates(40), wishes(minutes=2), PACE, NOW)
    back = first_round(base, wishes(minutes=2, returned=NOW - 1), PACE, NOW)
    assert len(back.picks) <= len(usual.picks) + 1
    assert {39, 38, 37, 36, 35} <= set(places(back.picks))


def test_coming_back_goes_on_to_what_was_met_again(candidates: Make) -> None:
    last_met = np.full(40, NOW - 120.0)
    last_met[:3] = NOW - 1.0
    base = candidates(40, last_met=last_met)
    back = first_round(base, wishes(minutes=2, returned=NOW - 3), PACE, NOW)
    assert set(places(back.picks)) & {0, 1, 2}
    assert set(places(back.picks)) & {39, 38, 37}


def test_only_one_kind(candidates: Make) -> None:
    kind = ("reel", "jig") * 5
    plan = first_round(candidates(10, kind=kind), wishes(minutes=9, kind="jig"), PACE, NOW)
    assert {kind[p] for p in places(plan.picks)} == {"jig"}


@given(st.integers(0, 30), st.integers(0, 2**32 - 1), st.floats(0.1, 20))
def test_a_plan_is_sound_and_the_same_twice(count: int, number: int, minutes: float) -> None:
    draw = np.random.default_rng(number)
    made = Candidates(
        uuids=tuple(str(n) for n in range(count)),
        tuning=tuple(draw.choice(["GDAE", "AEAE", "GDGD"], count)),
        root=draw.integers(-1, 12, count),
        kind=tuple(draw.choice(["", "jig", "reel"], count)),
        askable=draw.random((count, 2)) < 0.8,
        learning=draw.random(count) < 0.2,
        new=draw.random(count) < 0.3,
        favourite=draw.random(count) < 0.1,
        chance=draw.random(count),
        value=draw.random((count, 2)) * 20,
        asked_today=draw.random(count) < 0.2,
        put_off=draw.random(count) < 0.1,
        last_met=np.where(draw.random(count) < 0.3, np.nan, NOW - draw.random(count) * 300),
        added=draw.integers(0, 100, count),
        twins={n: frozenset({n ^ 1}) for n in range(count) if n ^ 1 < count and n % 4 < 2},
    )
    plan = first_round(made, wishes(minutes=minutes), PACE, NOW)
    assert plan == first_round(made, wishes(minutes=minutes), PACE, NOW)
    chosen = places(plan.picks)
    assert len(set(chosen)) == len(chosen)
    assert sum(made.learning[p] for p in chosen) <= 3
    for pick in plan.picks:
        assert made.askable[pick.place, pick.prompt]
        assert made.tuning[pick.place] == plan.tuning
        assert not made.asked_today[pick.place]
        assert not made.put_off[pick.place]
        for twin in made.twins.get(pick.place, frozenset()):
            assert not (twin in chosen and (made.new[twin] or made.new[pick.place]))


def test_last_round_asks_what_would_not_come_then_what_was_worked_on(candidates: Make) -> None:
    again = once_more(candidates(), [(4, WHAT), (2, HOW)], [2, 7], frozenset())
    assert [(pick.place, pick.prompt) for pick in again] == [(4, WHAT), (2, HOW), (7, HOW)]


def test_last_round_never_asks_twice(candidates: Make) -> None:
    assert once_more(candidates(), [(4, HOW)], [4], frozenset({4})) == []


def test_last_round_runs_the_older_of_two_similar_new_tunes_once_more(candidates: Make) -> None:
    base = candidates(twins={7: frozenset({3}), 3: frozenset({7})})
    base.new[[3, 7]] = True
    base.asked_today[[3, 7]] = True
    assert [pick.place for pick in once_more(base, [], [7], frozenset())] == [7, 3]


def test_last_round_is_cut_to_its_minutes(candidates: Make) -> None:
    again = [Pick(place, HOW) for place in range(10)]
    plan = last_round(candidates(), wishes(minutes=1.0), PACE, again, "GDAE")
    assert len(plan.picks) == 4


def test_another_tune_is_of_the_same_tuning_and_not_in_the_round(candidates: Make) -> None:
    base = candidates(6, tuning=("GDAE",) * 4 + ("AEAE",) * 2)
    base.put_off[1] = True
    assert another(base, "GDAE", [0], None) == [2, 3]


@pytest.mark.parametrize("tuning", ["GDAE", "XXXX"])
def test_an_empty_repertoire_gives_an_empty_round(candidates: Make, tuning: str) -> None:
    plan = first_round(candidates(0), wishes(tuning=tuning), PACE, NOW)
    assert plan.picks == ()


def test_joins_have_a_share_of_a_round_however_much_they_are_worth(candidates: Make) -> None:
    value = np.full((40, 2), 1.0)
    value[30:] = 9.0
    plan = first_round(candidates(40, joins=10, value=value), wishes(minutes=3.0), PACE, NOW)
    joins = [pick for pick in plan.picks if pick.place >= 30]
    assert 1 <= len(joins) <= JOIN_SHARE * 3.0 * 60 / PACE.how
    assert len(plan.picks) > 2 * len(joins)


def test_a_join_and_the_tune_it_leads_to_are_not_in_one_round(candidates: Make) -> None:
    clash = {n: frozenset({(n + 4) % 8}) for n in range(8)}
    base = candidates(8, joins=4, clash=clash)
    for minutes in (1.0, 2.0, 30.0):
        picks = first_round(base, wishes(minutes=minutes), PACE, NOW).picks
        chosen = {pick.place for pick in picks}
        assert chosen
        others = another(base, "GDAE", sorted(chosen), None)
        for place in chosen:
            assert not base.clash[place] & (chosen | set(others))


def test_joins_waiting_in_another_tuning_are_not_counted_as_tunes(candidates: Make) -> None:
    tuning = ("GDAE",) * 3 + ("AEAE",) * 4
    met = np.array([NOW - 1.0] * 3 + [NOW - 40.0] * 4)
    plan = first_round(candidates(7, joins=2, tuning=tuning, last_met=met), wishes(), PACE, NOW)
    assert [(waits.tuning, waits.tunes) for waits in plan.waiting] == [("AEAE", 2)]


def test_tunes_in_another_tuning_wait_for_a_date_sooner(candidates: Make) -> None:
    tuning = ("AEAE",) * 3 + ("GDGD",) * 2 + ("GDAE",) * 3
    met = np.array([NOW - 4.0] * 3 + [NOW - 40.0] * 2 + [NOW - 1.0] * 3)
    days = np.array([12.0, 12.0, np.nan] + [np.nan] * 5)
    gain = np.full((8, 2), np.nan)
    gain[:2] = [[0.6, 0.2], [0.1, 0.02]]
    base = candidates(8, tuning=tuning, last_met=met, date_days=days, date_gain=gain)
    plan = first_round(base, wishes(), PACE, NOW)
    # One of the two that the date wants would still be there by itself.
    assert [(w.tuning, w.tunes, w.date_in) for w in plan.waiting] == [
        ("AEAE", 1, 12),
        ("GDGD", 2, None),
    ]
    met[:3] = NOW - 1.0
    assert [w.tuning for w in first_round(base, wishes(), PACE, NOW).waiting] == ["GDGD"]
    met[:3], gain[:2] = NOW - 4.0, 0.01
    assert [w.tuning for w in first_round(base, wishes(), PACE, NOW).waiting] == ["GDGD"]


def test_tunes_never_met_are_not_old_friends() -> None:
    met = np.array([np.nan, 10.0, 30.0])
    assert not_met_since(met, 20.0).tolist() == [False, True, False]
