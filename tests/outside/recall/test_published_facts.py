"""Directions that experiments found, in populations simulated under the prior parameters.

Only directions, and one equality that the model does not show: the experiments were on words, and
none on tunes at all was found. Populations of 4,000 leave an error of about .003 in a mean chance.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.outside.recall.populations import Population, one_strand
from tunememory.history import HOW, Pace
from tunememory.music.tune import Declared
from tunememory.recall.belief import first_belief
from tunememory.recall.check import FIRST_START_COLUMN
from tunememory.recall.parameters import PRIOR
from tunememory.rounds.candidates import Candidates
from tunememory.rounds.choosing import Wishes, first_round, last_round, once_more

ATTEMPT = 0.007
"""Days from one attempt to the next within a session: ten minutes."""

ATTEMPTS = 7
"""A session ends after so many, come what may."""


def population(declared: Declared, people: int = 4000) -> Population:
    """The start of a tune as the player's word has it, entered at 0."""
    first = first_belief((FIRST_START_COLUMN,), declared, 0.0, PRIOR)
    column = FIRST_START_COLUMN
    beliefs = one_strand(
        float(first.mean[column]),
        float(first.cov[column, column]),
        people,
        exposed_at=float(first.exposed_at[column]),
    )
    return Population(beliefs, PRIOR, np.random.default_rng(1885))


def relearn(people: Population, at: float) -> None:
    """Ask until it came once, the answer shown each time."""
    todo = people.check(at) < 3
    for attempt in range(1, ATTEMPTS):
        level = people.check(at + attempt * ATTEMPT, todo)
        todo &= level < 3


def trained(days: tuple[int, ...]) -> tuple[float, float]:
    """Recall averaged over the days from first to last session, and 8 weeks after the last."""
    people = population(Declared.NEW)
    meanwhile = []
    for day in range(days[0], days[-1] + 1):
        if day > days[0]:
            meanwhile.append(people.recall(float(day)))
        if day in days:
            relearn(people, float(day))
    return float(np.mean(meanwhile)), people.recall(days[-1] + 56.0)


@pytest.mark.parametrize(
    ("expanding", "equal"),
    [
        ((1, 3, 10, 22), (1, 8, 15, 22)),
        ((1, 2, 4, 8, 15, 29), (1, 7, 12, 18, 23, 29)),
    ],
)
def test_expanding_gaps_keep_more_during_training_and_as_much_in_the_end(expanding, equal):
    """Kang, Lindsey, Mozer & Pashler (2014), Psychonomic Bulletin & Review 21, 1544-1550.

    Sessions spread over four weeks: recall 8 weeks later was equivalent, average recall during
    training much higher with expanding gaps. The first days are those of Kanayama (2020), Annual
    Review of English Language Education in Japan 31, 1-16; the second are an own choice.

    Of "much" no size was to be had, so the direction only: by .01, three times what chance makes
    of the difference (standard deviation .003). Reached .013 and .039; over draws .013 and .041.
    """
    during_expanding, final_expanding = trained(expanding)
    during_equal, final_equal = trained(equal)
    assert during_expanding > during_equal + 0.01
    assert final_expanding == pytest.approx(final_equal, abs=0.03)


YEARS = (1, 2, 3, 5)


@pytest.fixture(scope="module")
def relearned() -> dict[tuple[int, int], tuple[list[float], list[float]]]:
    """By sessions and gap in days: recall at the start of each session, and years after the last.

    Bahrick, Bahrick, Bahrick & Bahrick (1993), Psychological Science 4, 316-321: 300 words, 13 or
    26 sessions of learning again, 14 to 56 days apart, tested 1, 2, 3 and 5 years later.
    """
    found = {}
    for sessions in (13, 26):
        for gap in (14, 56):
            people = population(Declared.NEW, people=2000)
            training = []
            for session in range(sessions):
                at = 1.0 + session * gap
                training.append(people.recall(at))
                relearn(people, at)
            last = 1.0 + (sessions - 1) * gap
            found[sessions, gap] = training, [people.recall(last + 365.0 * y) for y in YEARS]
    return found


def test_more_sessions_keep_more_for_years_and_wide_gaps_learn_slower_but_fade_slower(relearned):
    """Bahrick and others (1993), in part: there, wide gaps were ahead for years."""
    for gap in (14, 56):
        pairs = zip(relearned[26, gap][1], relearned[13, gap][1], strict=True)
        assert all(more > fewer + 0.1 for more, fewer in pairs)
    for sessions in (13, 26):
        (near_training, near), (wide_training, wide) = (relearned[sessions, g] for g in (14, 56))
        assert np.mean(wide_training) < np.mean(near_training) - 0.05
        assert wide[-1] / wide[0] > near[-1] / near[0] + 0.02


@pytest.mark.xfail(
    strict=True,
    reason="under the prior 13 sessions at 56 days leave .30 and 26 at 14 days .69: a session "
    "adds much and a wider gap next to nothing, even after 5 years; values that nearly make them "
    "equal foretell recall histories worse (log loss .006 more)",
)
def test_thirteen_sessions_at_56_days_are_as_good_as_twenty_six_at_14(relearned):
    """Bahrick and others (1993), the abstract's equality."""
    wide, near = np.mean(relearned[13, 56][1]), np.mean(relearned[26, 14][1])
    assert wide == pytest.approx(near, abs=0.1)


@pytest.mark.parametrize("declared", [Declared.NEW, Declared.LEARNING])
def test_asking_on_after_the_first_success_beats_only_seeing_it_again(declared):
    """Karpicke & Roediger (2008), Science 319, 966-968: recall one week after one session.

    The direction only. People recalled about 80 % of what had been asked on and 36 % of what was
    dropped from asking; the model lets repeats of one day count for little, and the difference
    is about half a point.
    """
    after_a_week = {}
    for asked_on in (True, False):
        people = population(declared, people=20000)
        done = np.zeros(20000, dtype=bool)
        for attempt in range(4):
            at = 1.0 + attempt * ATTEMPT
            level = people.check(at, None if asked_on else ~done)
            if not asked_on:
                people.expose(at + ATTEMPT / 2, done)
            done |= level >= 3
        after_a_week[asked_on] = people.recall(8.0)
    assert after_a_week[True] > after_a_week[False] + 0.002


@pytest.mark.parametrize("declared", [Declared.NEW, Declared.LEARNING])
@pytest.mark.parametrize("wait", [7, 30, 90])
def test_four_checks_on_four_days_beat_four_on_one_day(declared, wait):
    """Cepeda, Pashler, Vul, Wixted & Rohrer (2006), Psychological Bulletin 132, 354-380.

    259 of 271 comparisons favour spacing; after 8 to 30 days 62 % against 33 % (these two numbers
    from memory). Also Bahrick & Phelps (1987), JEP:LMC 13, 344-349: same day worst.
    """
    recall = {}
    for gap in (ATTEMPT, 1.0, 7.0):
        people = population(declared)
        for check in range(4):
            people.check(1.0 + check * gap)
        recall[gap] = people.recall(1.0 + 3 * gap + wait)
    for spaced in (1.0, 7.0):
        assert recall[spaced] > recall[ATTEMPT] + 0.05
        assert recall[spaced] > 1.25 * recall[ATTEMPT]


@pytest.fixture
def candidates() -> Candidates:
    """Six tunes alike; 1 and 4 are new and begin alike."""
    count = 6
    new = np.zeros(count, dtype=bool)
    new[[1, 4]] = True
    return Candidates(
        uuids=tuple("abcdef"),
        tuning=("GDAE",) * count,
        root=np.arange(count, dtype=np.int64),
        kind=("reel",) * count,
        askable=np.ones((count, 2), dtype=bool),
        learning=np.zeros(count, dtype=bool),
        new=new,
        favourite=np.zeros(count, dtype=bool),
        chance=np.full(count, 0.6),
        value=np.tile([9.0, 1.0], (count, 1)),
        asked_today=np.zeros(count, dtype=bool),
        put_off=np.zeros(count, dtype=bool),
        last_met=np.full(count, 8990.0),
        added=np.arange(count, dtype=np.int64),
        twins={1: frozenset({4}), 4: frozenset({1})},
    )


WISHES = Wishes(minutes=5.0, instrument="GDAE")


def last_places(candidates: Candidates, worked_on: list[int]) -> list[int]:
    again = once_more(candidates, [], worked_on, frozenset())
    plan = last_round(candidates, WISHES, Pace(), again, "GDAE")
    assert all(pick.prompt == HOW for pick in plan.picks)
    return [pick.place for pick in plan.picks]


def test_a_first_round_does_not_ask_two_similar_new_tunes(candidates):
    """Duke & Davis (2006), J. Res. Music Educ. 54, 111-124."""
    asked = {pick.place for pick in first_round(candidates, WISHES, Pace(), 9000.0).picks}
    assert len(asked & {1, 4}) == 1
    apart = replace(candidates, twins={})
    assert {1, 4} <= {pick.place for pick in first_round(apart, WISHES, Pace(), 9000.0).picks}


def test_the_last_round_asks_the_first_of_two_similar_new_tunes_once_more(candidates):
    """Allen (2013), Psychology of Music, memory stabilization following music practice.

    A second, similar melody removed the overnight gain of the first; asking the first once more
    restored it.
    """
    both = np.zeros(6, dtype=bool)
    both[[1, 4]] = True
    assert sorted(last_places(replace(candidates, asked_today=both), [4])) == [1, 4]
    assert last_places(replace(candidates, asked_today=both, twins={}), [4]) == [4]
    only_the_second = np.zeros(6, dtype=bool)
    only_the_second[4] = True
    assert last_places(replace(candidates, asked_today=only_the_second), [4]) == [4]
