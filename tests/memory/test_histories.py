"""The comparison on recall histories, on a small invented file."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks.histories.ours import Learners, Trial, values, vector
from tests.benchmarks.histories.reading import HistoriesError, arranged, read

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
        "Pavlik-Anderson",
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
