"""One year lived ahead: how many tunes come on each evening of it.

The year is lived several times over, each time by a player with parameters that this one may
have. A level is drawn from the chance that is believed at that moment and then believed like a
real one. (What a belief expects of itself is itself, so no hidden truth has to be made up.)

Simpler than a real year in these ways, mostly kinder than it:

- Of each tune only the strand that decides whether it can be started is followed: one check asks
  for it and takes the seconds of a whole prompt.
- The choice is the planner's worth of a check per second, without tunings, roots, twins, dates,
  favourites and the tunes not met for months; it is made anew every ``REPLAN`` days.
- All minutes go to cold checks, none to a last round, and nothing is practised or played beside
  them. A new tune comes in as just learned; the hours of learning it are not counted.
- Days are practised or not by chance, without holidays. No tune is put to rest.
- What is believed of the tunes now was worked out with the parameters in use, and is kept when
  another life has other parameters.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.columns import FIRST_START_COLUMN
from tunememory.memory.gain import ask_value, asking
from tunememory.memory.parameters import Parameters, side_by_side
from tunememory.memory.start import Entry, first_beliefs
from tunememory.planning.living import alone, ask, chances, joined, thinned
from tunememory.tunes.tune import Declared

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from tunememory.memory.belief import Beliefs

YEAR = 364
"""Days looked ahead: 52 weeks."""

SURE = 0.8
"""Chance of starting a tune from which it counts as sure: the top space of the staff."""

RANGE = (0.1, 0.5, 0.9)
"""Shares of the lives below the lower end, the middle and the upper end of a range."""

REPLAN = 4
"""Days planned at once. Own choice, for speed: a worth moves little in four days."""

MOST_TUNES = 300
"""A larger repertoire is stood for by so many of its tunes, with their share of the checks."""

_LOOK = 2 * REPLAN
"""Days from one look at what would come to the next."""


@dataclass(frozen=True, slots=True)
class Habits:
    """What the player does.

    Attributes:
        checks_a_day: Cold checks on a day of practice, above 0; need not be whole.
        days: Share of days with practice, above 0, at most 1.
        new_a_month: New tunes learned, 0 or more.
    """

    checks_a_day: float
    days: float = 1.0
    new_a_month: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """A year as several lives see it, at W evenings before any check of the day.

    Attributes:
        days: (W,) days from now.
        tunes: (W,) tunes there are.
        callable: (W, 3) tunes that would come on that evening: ends and middle of ``RANGE``.
        sure: (W, 3) tunes with a chance of ``SURE`` or more.
    """

    days: NDArray[np.int64]
    tunes: NDArray[np.int64]
    callable: NDArray[np.float64]
    sure: NDArray[np.float64]


def year_of(
    now: Beliefs,
    at: float,
    lives: Sequence[Parameters],
    habits: Habits,
    rng: np.random.Generator,
    progress: Callable[[float], None],
    most: int = MOST_TUNES,
) -> Course:
    """Live one year in every life.

    Args:
        now: As for ``forecast``.
        at: As for ``forecast``.
        lives: As for ``forecast``.
        habits: As for ``forecast``.
        rng: As for ``forecast``.
        progress: As for ``forecast``.
        most: Tunes that stand for all when there are more.
    """
    few, share = thinned(now, most)
    fewer = replace(
        habits,
        checks_a_day=share * habits.checks_a_day,
        new_a_month=share * habits.new_a_month,
    )
    years = _Lives.begin(few, at, lives, fewer)
    days: list[int] = []
    counts: list[tuple[NDArray[np.float64], ...]] = []
    for day in range(0, YEAR + REPLAN, REPLAN):
        if day % _LOOK == 0 or day == YEAR:
            days.append(day)
            counts.append(years.standing(at + day))
        years.live(at, range(day, min(day + REPLAN, YEAR)), fewer, rng)
        progress(day / YEAR)
    tunes, called, sure = (np.array(each) / share for each in zip(*counts, strict=True))
    return Course(
        np.array(days),
        np.round(tunes[:, 0]).astype(np.int64),
        np.quantile(called, RANGE, axis=1).T,
        np.quantile(sure, RANGE, axis=1).T,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Lives:
    """R lives with N tunes each, life after life in one batch of R N rows and one column."""

    params: Parameters
    beliefs: Beliefs
    lives: int
    comes: NDArray[np.float64]
    """(N,) day on which the tune comes in."""

    @classmethod
    def begin(cls, now: Beliefs, at: float, lives: Sequence[Parameters], habits: Habits) -> _Lives:
        have = len(now.mean)
        new = round(12 * habits.new_a_month)
        comes = np.concatenate(
            [np.full(have, -np.inf), at + (np.arange(new) + 1) * YEAR / (new + 1)]
        )
        params = side_by_side([one for one in lives for _ in comes])
        entries = [Entry((FIRST_START_COLUMN,), Declared.NEW, day) for day in comes[have:]]
        first = np.full(new, FIRST_START_COLUMN)
        blocks = [
            block
            for one in lives
            for block in (now, alone(first_beliefs(entries, one), np.arange(new), first))
        ]
        return cls(params, joined(blocks), len(lives), comes)

    def here(self, at: float) -> NDArray[np.bool_]:
        """(R, N) whether the tune has come in."""
        return np.tile(self.comes <= at, (self.lives, 1))

    def standing(self, at: float) -> tuple[NDArray[np.float64], ...]:
        """In each life (R,): tunes there are, tunes that come, tunes that are sure."""
        here = self.here(at)
        likely = chances(self.beliefs, at, self.params).reshape(here.shape)
        chance = np.where(here, likely, 0.0)
        return tuple(
            counted.sum(axis=1).astype(np.float64) for counted in (here, chance, chance >= SURE)
        )

    def live(self, at: float, days: range, habits: Habits, rng: np.random.Generator) -> None:
        """Plan and live some days in every life."""
        # Luck is drawn whether it is needed or not, so that other habits meet the same days.
        practised = rng.random((len(days), self.lives)) < habits.days
        luck = np.random.default_rng(int(rng.integers(2**63)))
        if not days:
            return
        order = self._order(at + days[0], habits)
        room = [_whole(habits.checks_a_day, day) for day in days]
        rows: list[NDArray[np.int64]] = []
        when: list[NDArray[np.int64]] = []
        for life in range(self.lives):
            used = 0
            for day, checks, there in zip(days, room, practised[:, life], strict=True):
                if there:
                    some = order[life][used : used + checks]
                    used += len(some)
                    rows.append(some)
                    when.append(np.full(len(some), day))
        if rows:
            asked, later = np.concatenate(rows), np.concatenate(when)
            ask(
                self.beliefs,
                asked,
                at + later.astype(np.float64),
                int(at) + later,
                self.params,
                normal=luck.standard_normal(len(asked)),
                uniform=luck.random(len(asked)),
            )

    def _order(self, at: float, habits: Habits) -> list[NDArray[np.int64]]:
        """Rows of each life that may be asked, worth most first."""
        here = self.here(at)
        shape = (*here.shape, 1)
        parts = asking(self.beliefs, at, self.params)
        keeping, growing = (
            np.where(here[..., None], part.reshape(shape), np.nan) for part in parts
        )
        worth = ask_value(keeping, growing, max(1, round(habits.checks_a_day)))[..., 0]
        best = np.argsort(-np.where(here, worth, -np.inf), axis=1, kind="stable")
        tunes = here.shape[1]
        return [life * tunes + best[life][: here[life].sum()] for life in range(self.lives)]


def _whole(checks_a_day: float, day: int) -> int:
    """Checks of one day, so that over the days none is lost to rounding."""
    return int(checks_a_day * (day + 1)) - int(checks_a_day * day)
