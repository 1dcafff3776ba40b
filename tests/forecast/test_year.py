"""A year ahead, beside what is known without living it."""

from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
import pytest

from tunememory.errors import NotDoneError
from tunememory.forecast.year import (
    MOST_NEW,
    REPLAN,
    YEAR,
    Habits,
    Outset,
    assumed,
    deciding,
    forecast,
    sentence,
    year_ahead,
    year_of,
)
from tunememory.history import record_check_away
from tunememory.library.adding import set_status
from tunememory.music.tune import Declared
from tunememory.recall.belief import Entry, first_belief, first_beliefs, stack
from tunememory.recall.check import Level
from tunememory.recall.forgetting import SHORTEST, chance, success_curve
from tunememory.recall.parameters import PRIOR

AT = 9000.0
A = 2
SELDOM = 1e-9
"""Checks a day that never make a whole one."""


def entered(count, declared=Declared.KNOWN, params=PRIOR):
    beliefs = first_beliefs([Entry((A,), declared, AT)] * count, params)
    return deciding(beliefs, np.full(count, A), None, np.random.default_rng(0))


@dataclass
class Course:
    """A year as columns, evening by evening: (W,), (W,), (W, 3), (W,)."""

    days: np.ndarray
    tunes: np.ndarray
    callable: np.ndarray
    sure: np.ndarray


def lived(now, habits, lives=(PRIOR,) * 3, seed=5, most=300):
    points = year_of(Outset(now, AT, lives, seed), habits, lambda _: None, most)
    columns = [(p.day, p.tunes, (p.low, p.middle, p.high), p.sure) for p in points]
    return Course(*map(np.array, zip(*columns, strict=True)))


def test_left_alone_tunes_fade_as_the_model_says():
    now = entered(7)
    course = lived(now, Habits(SELDOM))
    assert course.days[0] == 0
    assert course.days[-1] == YEAR
    for week, day in enumerate(course.days):
        alone = chance(now, AT + day, PRIOR).sum()
        assert course.callable[week] == pytest.approx([alone] * 3)
    assert (course.sure == 0).all()


def test_believed_levels_are_as_good_as_a_hidden_truth():
    """The average of a year believed from drawn levels is that of players who truly forget."""
    # Every check adds as much, so that the truth is known without a belief.
    params = replace(PRIOR, gain=0.0, gain_floor=0.01, gain_found=1.0, gain_failed=0.01,
                     gain_noise=0.0, haste=1.0)  # fmt: skip
    tunes, checks = 1500, YEAR // REPLAN
    now = entered(tunes, params=params)
    course = lived(now, Habits(tunes), [params], seed=6, most=tunes)
    believed = course.callable[-1, 1] / tunes
    x = np.random.default_rng(7).normal(now.mean[0, 0], np.sqrt(now.cov[0, 0, 0]), 100_000)
    z = params.slope * (x + 0.01 * checks - np.log(SHORTEST + REPLAN))
    true = 0.5 * params.lapse + (1 - params.lapse) * success_curve(z).mean()
    assert believed == pytest.approx(true, abs=0.01)
    unasked = chance(now, AT + REPLAN, params).mean()
    assert abs(true - unasked) > 0.05


def test_minutes_keep_tunes():
    now = entered(60)
    ends = [lived(now, Habits(c)).callable[-1, 1] for c in (SELDOM, 1.0, 4.0)]
    assert ends[0] < ends[1] < ends[2] <= 60


def test_days_without_practice_cost():
    now = entered(60)
    every, half = (lived(now, Habits(2.0, days)).callable[10, 1] for days in (1.0, 0.4))
    assert half < every


def test_new_tunes_come_in_over_the_year():
    course = lived(entered(10), Habits(3.0, new_a_month=2.0))
    assert course.tunes[0] == 10
    assert course.tunes[-1] == 34
    assert (np.diff(course.tunes) >= 0).all()
    assert (np.diff(course.tunes) <= 2).all()
    assert (course.callable <= course.tunes[:, None]).all()
    only_new = lived(entered(0), Habits(3.0, new_a_month=1.0))
    assert only_new.tunes[0] == 0
    assert only_new.callable[-1, 1] > 6


def test_a_few_tunes_stand_for_many():
    mixed = [Declared.OLD_FRIEND, Declared.KNOWN, Declared.LEARNING]
    beliefs = first_beliefs([Entry((A,), mixed[n % 3], AT) for n in range(240)], PRIOR)
    now = deciding(beliefs, np.full(240, A), None, np.random.default_rng(0))
    whole = lived(now, Habits(4.0))
    few = lived(now, Habits(4.0), most=60)
    assert few.tunes[-1] == 240
    assert few.callable[:, 1] == pytest.approx(whole.callable[:, 1], rel=0.12)


def test_the_same_luck_gives_the_same_year():
    now = entered(20)
    once, again = (lived(now, Habits(2.0, 0.8, 1.0)) for _ in range(2))
    assert once.callable.tolist() == again.callable.tolist()
    assert once.callable.tolist() != lived(now, Habits(2.0, 0.8, 1.0), seed=9).callable.tolist()


@pytest.mark.parametrize(("tunes", "checks", "borne"), [(6, 40.0, MOST_NEW), (60, 0.05, None)])
def test_plenty_bears_all_and_next_to_nothing_bears_none(tunes, checks, borne):
    said: list[float] = []
    outset = Outset(entered(tunes), AT, [PRIOR] * 2, seed=1)
    points, more, bears = forecast(outset, Habits(checks), 8.0, said.append)
    assert bears == borne
    assert more.middle >= points[-1].middle - 0.5
    assert said == sorted(said)
    assert said[-1] == 1.0
    assert len(said) > 50


def test_more_new_tunes_than_are_borne_are_too_many():
    now = entered(40)
    habits = Habits(1.5)
    borne = forecast(Outset(now, AT, [PRIOR] * 4, seed=1), habits, 1.0, lambda _: None)[2]
    assert borne is not None
    assert borne < MOST_NEW
    shares = []
    for new in (borne, borne + 1):
        course = lived(now, replace(habits, new_a_month=new), [PRIOR] * 4, seed=1)
        shares.append(course.callable[-1, 1] / course.tunes[-1])
    assert shares[0] >= 0.8 > shares[1]


def test_it_can_be_broken_off():
    class EnoughError(Exception):
        pass

    def stop(share):
        if share > 0.1:
            raise EnoughError

    with pytest.raises(EnoughError):
        forecast(Outset(entered(5), AT, [PRIOR], seed=1), Habits(2.0), 1.0, stop)


def test_the_strand_that_decides_is_followed():
    two = stack([first_belief((0, A), d, AT, PRIOR) for d in (Declared.NEW, Declared.KNOWN)])
    nothing = deciding(two, np.array([-1, -1]), None, np.random.default_rng(0))
    assert len(nothing.mean) == 0
    one = deciding(two, np.array([0, A]), None, np.random.default_rng(0))
    assert one.mean[:, 0].tolist() == [two.mean[0, 0], two.mean[1, A]]
    assert one.cov[:, 0, 0].tolist() == [two.cov[0, 0, 0], two.cov[1, A, A]]


def test_fewer_tunes_or_more_like_them():
    now = first_beliefs([Entry((A,), Declared.KNOWN, AT + n) for n in range(9)], PRIOR)
    fewer, more = (
        deciding(now, np.full(9, A), count, np.random.default_rng(2)) for count in (4, 30)
    )
    own = set(now.exposed_at[:, A].tolist())
    assert len(set(fewer.exposed_at[:, 0].tolist())) == 4
    assert len(more.mean) == 30
    assert set(more.exposed_at[:, 0].tolist()) == own


def quietly(_: float) -> None:
    """Nobody watches."""


def test_a_year_for_a_few_tunes(session, kept):
    kept(9)
    said: list[float] = []
    found = year_ahead(session, 2.0, None, 1.0, said.append)
    assert found.points[0].tunes == 9
    assert found.points[-1].tunes == 21
    assert found.points[-1].day == 364
    assert all(p.low <= p.middle <= p.high <= p.tunes for p in found.points)
    assert found.checks == 8  # 15 seconds each until they are measured
    assert found.days == 1.0
    assert said[-1] == 1.0


def test_only_tunes_that_are_asked_for_count_and_more_can_be_imagined(session, kept):
    uuids = kept(4)
    set_status(session, uuids[0], session.tune(uuids[0]).status.RESTING)
    assert year_ahead(session, 1.0, None, 0, quietly).points[0].tunes == 3
    assert year_ahead(session, 1.0, 12, 0, quietly).points[0].tunes == 12


def test_days_are_as_the_last_weeks_were(session, kept, hands):
    (uuid,) = kept(1)
    for _ in range(10):
        record_check_away(session, uuid, {"key": Level.FIND}, hands.now())
        hands.forward(days=2)
    found = year_ahead(session, 1.0, None, 0, quietly)
    assert found.days == pytest.approx(0.5)
    assert "4 days a week" in assumed(found)
    assert "no new tunes" in assumed(found)


@pytest.mark.parametrize(
    ("minutes", "tunes", "new"),
    [(0, None, 0), (-1, None, 0), (float("nan"), None, 0), (999, None, 0), (4, 0, 0), (4, 9999, 0),
     (4, None, -1), (4, None, 99)],
)  # fmt: skip
def test_what_cannot_be_is_said(session, kept, minutes, tunes, new):
    kept(1)
    with pytest.raises(NotDoneError, match="can be"):
        year_ahead(session, minutes, tunes, new, quietly)


def test_without_tunes_there_is_nothing_to_foretell(session):
    with pytest.raises(NotDoneError, match="add one first"):
        year_ahead(session, 4, None, 0, quietly)


def test_the_sentence_says_what_was_found(session, kept):
    kept(3)
    found = year_ahead(session, 1.0, None, 0, quietly)
    first, last = found.points[0], found.points[-1]
    said = sentence(found)
    assert said.startswith(f"Of 3 tunes about {first.middle:.0f} would come tonight")
    assert f"({last.low:.0f} to {last.high:.0f})" in said
    more = replace(found.more, middle=last.middle + 7)
    assert "about 7 more" in sentence(replace(found, more=more))
    assert "change little" in sentence(replace(found, more=replace(more, middle=last.middle)))
    assert "no room for new tunes" in sentence(replace(found, borne=None))
    assert "room for 1 new tune a month" in sentence(replace(found, borne=1))
    assert f"{found.most_new} or more new tunes" in sentence(replace(found, borne=found.most_new))


def test_a_longer_history_than_the_window_counts_only_the_window(session, kept, hands):
    (uuid,) = kept(1)
    record_check_away(session, uuid, {"key": Level.FIND}, hands.now() - timedelta(days=400))
    hands.forward(days=1)
    record_check_away(session, uuid, {"key": Level.FIND}, hands.now())
    assert year_ahead(session, 1.0, None, 0, quietly).days == 1.0
