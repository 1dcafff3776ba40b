"""A file of recall histories as arrays, in the order each learner went through it."""

from __future__ import annotations

import csv
import gzip
import math
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np

COLUMNS = ("learner", "t_s", "group", "facet", "outcome")
"""What is read; ``phase``, ``latency_ms``, ``schedule`` and ``cell`` may stand beside it."""

STUDY = -1


class HistoriesError(Exception):
    """One line for the person who gave the file."""


@dataclass(frozen=True)
class Histories:
    """N rows, learner by learner, oldest first.

    ``last`` is the index of the row of the same learner and item just before (-1: none), and
    ``scored`` the tests of an item that this learner was tested on before.
    """

    learner: np.ndarray
    number: np.ndarray
    seconds: np.ndarray
    group: np.ndarray
    item: np.ndarray
    outcome: np.ndarray
    last: np.ndarray
    scored: np.ndarray

    @property
    def test(self) -> np.ndarray:
        return self.outcome != STUDY

    @property
    def lag(self) -> np.ndarray:
        """Seconds since the item was last met, at least 1; nan where never."""
        return np.where(
            self.last >= 0, np.maximum(self.seconds - self.seconds[self.last], 1.0), np.nan
        )

    @property
    def items(self) -> int:
        return int(self.item.max()) + 1

    def some(self, keep: np.ndarray) -> Histories:
        """Rows of whole learners only: items keep their numbers, learners are counted anew."""
        index = np.cumsum(keep) - 1
        taken = {f.name: getattr(self, f.name)[keep] for f in fields(self)}
        taken["learner"] = np.unique(taken["learner"], return_inverse=True)[1]
        taken["last"] = np.where(taken["last"] >= 0, index[taken["last"]], -1)
        return Histories(**taken)


def read(path: str | Path) -> Histories:
    """Read a csv, or a csv packed by gzip.

    Raises:
        HistoriesError: The file cannot be read, a column is missing or a row makes no sense.
    """
    path = Path(path)
    rows = []
    try:
        opened = gzip.open if path.suffix == ".gz" else open
        with opened(path, "rt", encoding="utf-8", newline="") as file:
            table = csv.DictReader(file)
            missing = [c for c in COLUMNS if c not in (table.fieldnames or ())]
            if missing:
                raise HistoriesError(f"{path}: line 1: add the column {missing[0]}")
            rows.extend(_row(path, table.line_num, given) for given in table)
    except (OSError, EOFError, UnicodeDecodeError, csv.Error) as fault:
        raise HistoriesError(f"{path}: cannot be read as csv: {fault}") from fault
    if not rows:
        raise HistoriesError(f"{path}: has no rows; give one line for each test or study")
    return arranged(rows)


def _row(path: Path, line: int, given: dict[str, str | None]) -> tuple:
    outcome = {"1": 1, "0": 0, "S": STUDY}.get(given["outcome"] or "")
    if outcome is None:
        raise HistoriesError(f"{path}: line {line}: outcome must be 1, 0 or S")
    try:
        number, group, facet = (int(given[c] or "") for c in ("learner", "group", "facet"))
        seconds = float(given["t_s"] or "")
    except ValueError as fault:
        raise HistoriesError(
            f"{path}: line {line}: learner, group and facet must be whole numbers, t_s a number"
        ) from fault
    if not math.isfinite(seconds):
        raise HistoriesError(f"{path}: line {line}: t_s must be finite")
    return number, seconds, group, facet, outcome


def arranged(rows: list[tuple]) -> Histories:
    """Histories of rows of learner, seconds, group, facet and outcome."""
    number, seconds, group, facet, outcome = (
        np.array(column) for column in zip(*rows, strict=False)
    )
    order = np.lexsort((seconds, number))  # stable: rows of one second stay as they were
    number, seconds, group, facet, outcome = (
        column[order] for column in (number, seconds, group, facet, outcome)
    )
    item = np.unique(np.stack([group, facet]), axis=1, return_inverse=True)[1].ravel()
    last = np.full(len(number), -1)
    scored = np.zeros(len(number), dtype=bool)
    met: dict[tuple[int, int], int] = {}
    tested: set[tuple[int, int]] = set()
    for i, which in enumerate(zip(number.tolist(), item.tolist(), strict=True)):
        last[i] = met.get(which, -1)
        met[which] = i
        if outcome[i] != STUDY:
            scored[i] = which in tested
            tested.add(which)
    return Histories(
        learner=np.unique(number, return_inverse=True)[1],
        number=number,
        seconds=seconds,
        group=np.unique(group, return_inverse=True)[1],
        item=item,
        outcome=outcome,
        last=last,
        scored=scored,
    )
