"""What a learner's own past says just before each row."""

from __future__ import annotations

import numpy as np

from tests.benchmarks.histories.reading import STUDY

SITTING = 1800.0
"""Seconds after a row that still count as the same sitting (the model's half hour)."""


def counts(data):
    """(N, 3) earlier successes, failures and studies of the item."""
    found = np.zeros((len(data.item), 3))
    for i, before in enumerate(data.last):
        if before >= 0:
            found[i] = found[before]
            found[i, {1: 0, 0: 1, STUDY: 2}[int(data.outcome[before])]] += 1
    return found


def ability(data, expected):
    """(N,) running ability: earlier outcomes of all items less ``expected`` (N,), mean of both.

    Drawn towards 0 as if by five tests that came as expected.
    """
    surplus = np.where(data.test, data.outcome - expected, 0.0)
    begin = np.flatnonzero(np.diff(data.learner, prepend=-1))[data.learner]
    total = np.concatenate([[0.0], np.cumsum(surplus)])
    number = np.concatenate([[0], np.cumsum(data.test)])
    rows = np.arange(len(surplus))
    return (total[rows] - total[begin]) / (number[rows] - number[begin] + 5.0)


def before(data, rows):
    """For each of M rows the indices of earlier rows of its item, newest first: (M, K), -1 pads."""
    columns = [data.last[rows]]
    while (columns[-1] >= 0).any():
        previous = columns[-1]
        columns.append(np.where(previous >= 0, data.last[previous], -1))
    return np.stack(columns, axis=1)


def sitting_seconds(data, outside):
    """(N,) clock of each learner, time beyond half an hour after a row counted by ``outside``."""
    step = np.diff(data.seconds, prepend=0.0)
    first = np.diff(data.learner, prepend=-1) != 0
    step = np.where(first, 0.0, np.minimum(step, SITTING) + outside * np.maximum(step - SITTING, 0))
    return np.cumsum(step)
