"""A year ahead: what so many minutes a day keep, what two more bring, how many new tunes they bear.

How a year is lived is told in ``planning.year``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory.planning.living import alone
from tunememory.planning.year import MOST_TUNES, SURE, year_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from tunememory.memory.belief import Beliefs
    from tunememory.memory.parameters import Parameters
    from tunememory.planning.year import Course, Habits

MORE_MINUTES = 2.0
"""Minutes a day added to see what they would bring."""

MOST_NEW = 16
"""New tunes a month beyond which nobody looks."""

TUNES_OF_A_TRY = 80
"""Tunes that stand for all while numbers of new tunes are tried."""


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """What is to be expected.

    Attributes:
        course: The year with the minutes given.
        more: The same with ``MORE_MINUTES`` more.
        borne: New tunes a month, 0 to ``MOST_NEW``, with which the average tune would still
            come ``SURE`` of the time at the end of the year; ``None`` when it would not even
            without new ones.
    """

    course: Course
    more: Course
    borne: int | None


def deciding(
    beliefs: Beliefs, opening: NDArray[np.int64], count: int | None, rng: np.random.Generator
) -> Beliefs:
    """Return one strand a tune: T beliefs of one column.

    Args:
        beliefs: Of the player's tunes.
        opening: (T,) column that decides, -1 leaves the tune out.
        count: How many tunes are wanted: drawn from these when there are more, filled up with
            tunes like them when there are fewer; all when ``None``.
        rng: Source of chance.
    """
    rows = np.flatnonzero(opening >= 0)
    if count is not None and len(rows):
        extra = rng.choice(rows, max(0, count - len(rows)))
        rows = np.concatenate([rng.permutation(rows)[:count], extra])
    return alone(beliefs, rows, opening[rows])


def forecast(
    now: Beliefs,
    at: float,
    lives: Sequence[Parameters],
    habits: Habits,
    more_checks: float,
    rng: np.random.Generator,
    progress: Callable[[float], None],
) -> Forecast:
    """Look a year ahead.

    Args:
        now: One strand of each of T tunes (``deciding``).
        at: Days since the epoch.
        lives: Parameters to live with, one set a life.
        habits: What the player does.
        more_checks: Cold checks that ``MORE_MINUTES`` hold.
        rng: Source of chance; every year is lived with the same luck.
        progress: Told the share done, 0 to 1; what it raises ends the work.
    """
    seed = int(rng.integers(2**63))
    tries = MOST_NEW.bit_length() + 1
    share_of_a_try = min(1.0, TUNES_OF_A_TRY / max(1, len(now.mean)))
    total = 2.0 + tries * share_of_a_try
    done = 0.0

    def live(doing: Habits, most: int, share: float) -> Course:
        nonlocal done
        before = done

        def tell(part: float) -> None:
            progress((before + share * part) / total)

        course = year_of(now, at, lives, doing, np.random.default_rng(seed), tell, most)
        done += share
        return course

    def bears(new: int) -> bool:
        doing = replace(habits, new_a_month=float(new))
        course = live(doing, TUNES_OF_A_TRY, share_of_a_try)
        return bool(course.callable[-1, 1] >= SURE * course.tunes[-1])

    course = live(habits, MOST_TUNES, 1.0)
    longer = replace(habits, checks_a_day=habits.checks_a_day + more_checks)
    more = live(longer, MOST_TUNES, 1.0)
    borne = _largest(bears, MOST_NEW)
    progress(1.0)
    return Forecast(course, more, borne)


def _largest(holds: Callable[[int], bool], most: int) -> int | None:
    """Return the largest number up to ``most`` that holds; ``None`` when 0 does not."""
    if not holds(0):
        return None
    low, high = 0, most + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
