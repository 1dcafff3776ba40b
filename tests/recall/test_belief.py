import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.recall.made_up import made_up
from tunememory.music.tune import Declared
from tunememory.recall.belief import MODEL, TuneBelief, blank, first_belief, stack, unpacked
from tunememory.recall.check import column_of
from tunememory.recall.forgetting import chance
from tunememory.recall.parameters import PRIOR
from tunememory.recall.update import after

COLUMNS = [column_of(strand) for strand in ("key", "name", "A")]


def same(a: TuneBelief, b: TuneBelief) -> bool:
    return a.to_bytes() == b.to_bytes()


@settings(max_examples=40)
@given(st.integers(0, 10_000))
def test_bytes_read_back_to_the_bit(made_up_seed):
    rng = np.random.default_rng(made_up_seed)
    f = int(rng.integers(0, 9))
    belief = TuneBelief(
        mean=rng.normal(size=f),
        cov=rng.normal(size=(f, f)),
        exposed_at=np.where(rng.random(f) < 0.3, np.nan, rng.uniform(0, 1e4, f)),
        gained_day=rng.integers(0, 800_000, f),
        gains=rng.integers(0, 3, f),
        checks=rng.integers(0, 1000, f),
        present=rng.random(f) < 0.5,
    )
    others = [first_belief((0, 2), Declared.NEW, 1.0, PRIOR).to_bytes()] * 2
    into = blank("abcd", 9)
    read = unpacked([others[0], belief.to_bytes(), b"no belief", others[1]], into)
    assert read.tolist() == [True, True, False, True]
    back = into.tune(1, f)
    assert same(back, belief)
    for name in ("mean", "cov", "exposed_at", "gained_day", "gains", "checks", "present"):
        kept, found = getattr(belief, name), getattr(back, name)
        assert found.dtype == kept.dtype
        assert found.flags.writeable
        assert np.array_equal(found, kept, equal_nan=kept.dtype.kind == "f")
        # Beyond its own columns, and where nothing was read, there is no strand.
        bare = getattr(blank("a", 9), name)[0]
        assert np.array_equal(getattr(into, name)[2], bare, equal_nan=kept.dtype.kind == "f")
        beyond = getattr(into, name)[1, f:]
        assert np.array_equal(beyond, bare[f:], equal_nan=kept.dtype.kind == "f")


GOOD = first_belief((0, 2), Declared.NEW, 1.0, PRIOR).to_bytes()


@pytest.mark.parametrize(
    "spoilt",
    [b"", b"TM", b"XYZ%c\0\0" % MODEL, b"TMB%c\0\0" % (MODEL - 1), b"TMB%c\4\0" % MODEL,
     GOOD + b"\0", GOOD[:-1]],
)  # fmt: skip
def test_what_is_no_belief_is_passed_over(spoilt):
    into = blank("ab", 3)
    assert unpacked([spoilt, GOOD], into).tolist() == [False, True]
    assert not into.present[0].any()
    assert unpacked([GOOD], blank("a", 2)).tolist() == [False]


def test_stacked_beliefs_come_apart_again():
    firsts, histories = made_up(12, 4, seed=3)
    tunes = [after(b, h[0], PRIOR) if h else b for b, h in zip(firsts, histories, strict=True)]
    side_by_side = stack(tunes, [f"tune {i}" for i in range(12)])
    assert all(same(side_by_side.tune(i, b.columns), b) for i, b in enumerate(tunes))
    some = side_by_side.rows(np.array([7, 2]))
    assert some.uuids == ("tune 7", "tune 2")
    assert same(some.tune(1, tunes[2].columns), tunes[2])


def test_nothing_to_stack():
    assert stack([]).mean.shape == (0, 0)


@pytest.mark.parametrize(
    ("declared", "days"),
    [(Declared.NEW, 1.5), (Declared.LEARNING, 5), (Declared.KNOWN, 30), (Declared.OLD_FRIEND, 180)],
)
def test_a_word_stands_for_a_stability(declared, days):
    belief = first_belief(COLUMNS, declared, 100.0, PRIOR)
    assert belief.mean[COLUMNS] == pytest.approx(math.log(days) + np.array([0.0, 0.2, -0.3]))
    assert np.diag(belief.cov)[COLUMNS] == pytest.approx(1.44)


def test_strands_of_a_tune_hang_together_and_absent_ones_are_nothing():
    belief = first_belief((2, 4), Declared.KNOWN, 100.0, PRIOR)
    assert belief.present.tolist() == [False, False, True, False, True]
    assert belief.cov[2, 4] == pytest.approx(1.44 - 0.75**2)
    assert not belief.cov[3].any()
    assert np.isnan(belief.exposed_at[3])


def test_a_tune_said_to_be_known_stands_at_about_three_in_four_until_asked():
    for declared in (Declared.KNOWN, Declared.OLD_FRIEND, Declared.LEARNING):
        p = chance(stack([first_belief((0,), declared, 50.0, PRIOR)]), 50.0, PRIOR)[0, 0]
        assert 0.65 < p < 0.85


def test_strands_that_vary_more_than_the_word_still_give_a_covariance():
    wild = dataclasses.replace(PRIOR, strand_sd=2.0)
    belief = first_belief((0, 2, 3), Declared.NEW, 0.0, wild)
    assert np.linalg.eigvalsh(belief.cov[np.ix_([0, 2, 3], [0, 2, 3])]).min() > 0


def test_a_tune_without_strands():
    assert first_belief((), Declared.NEW, 0.0, PRIOR).columns == 0
