"""The comparison on recall histories, on a small invented file."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks.histories.fitted import MOST_ROUNDS
from tests.benchmarks.histories.ours import Learners, Trial, values, vector
from tests.benchmarks.histories.reading import HistoriesError, arranged, read
from tests.benchmarks.histories.scoring import behind, surprise

ROOT = Path(__file__).parents[2]
HEAD = "learner,t_s,group,facet,outcome,phase,latency_ms,schedule,cell"


def run(path):
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "tests.benchmarks.histories", str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.fixture(scope="module")
def invented():
    """Rows of six learners: four items met five times in one evening, and again after two days."""
    rng = np.random.default_rng(5)
    rows = []
    for learner in range(1, 7):
        for k in range(24):
            seconds = 40 * k if k < 20 else 172_800 + 40 * k
            outcome = "S" if k == 1 else str(int(rng.random() < 0.3 + 0.02 * k))
            rows.append((learner, seconds, k % 4 // 2, k % 2, outcome))
    return rows


@pytest.fixture(scope="module")
def printed(invented, tmp_path_factory):
    path = tmp_path_factory.mktemp("histories") / "invented.csv"
    lines = [",".join(map(str, row)) + ",practice,1000,made,A" for row in invented]
    path.write_text("\n".join([HEAD, *lines]), encoding="utf-8")
    done = run(path)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_every_model_is_scored_on_the_same_tests(printed):
    assert set(printed["models"]) == {
        "constant",
        "item mean",
        "plain logistic",
        "DASH, running ability",
        "activation",
        "activation, running ability",
        "Pavlik-Anderson",
        "Pavlik-Anderson, running ability",
        "ours",
    }
    for scores in printed["models"].values():
        # 24 rows less a first test of each of four items; one was only studied the first time.
        assert scores["all"]["tests"] == 6 * (24 - 1 - 4)
        assert scores["over_12_h"]["tests"] == 6 * 4
        assert 0.0 < scores["all"]["brier"] < 1.0
    assert sum(part["tests"] for part in printed["deciles_of_ours"]) == 6 * 19
    assert len(printed["deciles_of_ours"]) == 10
    assert len(printed["parameters_of_ours"]) == 2
    assert all(0 < found["rounds"] < MOST_ROUNDS for found in printed["parameters_of_ours"])


def test_rivals_are_laid_beside_ours(printed):
    assert set(printed["behind_ours"]) == set(printed["models"]) - {"ours"}
    for name, found in printed["behind_ours"].items():
        for kind in ("all", "over_12_h"):
            lost = [printed["models"][model][kind]["log_loss"] for model in (name, "ours")]
            assert found[kind]["mean"] == pytest.approx(lost[0] - lost[1], abs=2e-5)
            assert found[kind]["low"] <= found[kind]["mean"] <= found[kind]["high"]
    for part in printed["deciles_of_ours"]:
        off = part["points_off"]
        assert off["mean"] == pytest.approx(100 * (part["said"] - part["came"]), abs=0.02)
        assert off["low"] <= off["mean"] <= off["high"]


def test_the_range_is_that_of_other_learners_drawn():
    """Beside the plain way: draw learners with replacement, lay their tests together."""
    rng = np.random.default_rng(2)
    learner = np.repeat(np.arange(12), rng.integers(3, 30, 12))
    y = (rng.random(len(learner)) < 0.6).astype(int)
    ours, rival = np.full(len(y), 0.6), np.clip(0.3 + 0.05 * learner, 0.1, 0.9)
    got = behind(rival, ours, y, np.ones(len(y)), learner)
    assert got["over_12_h"] is None
    more = surprise(rival, y) - surprise(ours, y)
    assert got["all"]["mean"] == pytest.approx(more.mean(), abs=1e-5)
    drawn = []
    for _ in range(4000):
        whose = rng.integers(0, 12, 12)
        drawn.append(np.concatenate([more[learner == one] for one in whose]).mean())
    wanted = np.quantile(drawn, [0.025, 0.975])
    width = wanted[1] - wanted[0]
    assert [got["all"]["low"], got["all"]["high"]] == pytest.approx(wanted, abs=0.06 * width)


def test_item_scores_are_close_to_the_derivatives(invented):
    data = arranged([(*row[:4], -1 if row[4] == "S" else int(row[4])) for row in invented])
    learners, found = Learners(data), values(vector(Trial()))
    offset = np.array([0.5, -0.5, 0.2, 0.0])

    def log_likelihood(at):
        p = learners.foretell(found, at)[data.scored]
        came = np.log(np.where(data.outcome[data.scored] == 1, p, 1 - p))
        return np.bincount(data.learner[data.scored], weights=came)

    got = learners.item_scores(found, offset)
    steps = 0.01 * np.eye(4)
    wanted = [(log_likelihood(offset + s) - log_likelihood(offset - s)) / 0.02 for s in steps]
    # What the offset does to variances and growth is left out.
    assert np.linalg.norm(got - wanted) < 0.25 * np.linalg.norm(wanted)
    assert np.linalg.norm(wanted) > 0.5


def test_constant_is_the_mean_of_the_other_learners(printed, invented):
    kept = {0: [], 1: []}
    for learner in range(1, 7):
        tested = set()
        for _, seconds, group, facet, outcome in (row for row in invented if row[0] == learner):
            if outcome == "S":
                continue
            if (group, facet) in tested:
                kept[learner % 2].append((seconds, int(outcome)))
            tested.add((group, facet))
    every, far = [], []
    for part in (0, 1):
        mean = sum(y for _, y in kept[1 - part]) / len(kept[1 - part])
        for seconds, y in kept[part]:
            lost = -math.log(mean if y else 1.0 - mean)
            every.append(lost)
            # Only the first meeting of an item after the two days has a lag with a night in it.
            if seconds > 172_800:
                far.append(lost)
    scores = printed["models"]["constant"]
    assert scores["all"]["log_loss"] == pytest.approx(sum(every) / len(every), abs=1e-5)
    assert scores["over_12_h"]["log_loss"] == pytest.approx(sum(far) / len(far), abs=1e-5)


def test_what_comes_later_does_not_change_what_was_said_before(invented):
    numbered = [
        (learner, float(seconds), group, facet, -1 if outcome == "S" else int(outcome))
        for learner, seconds, group, facet, outcome in invented
    ]
    turned = [(*row[:4], 1 - row[4]) if row[1] > 600 and row[4] >= 0 else row for row in numbered]
    said = [
        Learners(data).foretell(values(vector(Trial())), np.zeros(4))
        for data in (arranged(numbered), arranged(turned))
    ]
    seconds = arranged(numbered).seconds
    np.testing.assert_array_equal(said[0][seconds <= 640], said[1][seconds <= 640])
    assert np.nanmax(np.abs(said[0] - said[1])[seconds > 640]) > 0.1


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("learner,t_s,group,facet\n1,0,0,0\n", "line 1: add the column outcome"),
        (f"{HEAD}\n1,0,0,0,2,p,1,s,c\n", "line 2: outcome must be 1, 0 or S"),
        (f"{HEAD}\n1,soon,0,0,1,p,1,s,c\n", "line 2: learner, group and facet"),
        (f"{HEAD}\n", "has no rows"),
    ],
)
def test_a_file_that_makes_no_sense_gets_one_line(tmp_path, text, told):
    path = tmp_path / "odd.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(HistoriesError, match=told) as caught:
        read(path)
    assert "\n" not in str(caught.value)
