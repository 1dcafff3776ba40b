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
from datetime import timedelta
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np

from tunememory.errors import NotDoneError
from tunememory.forecast.own_parameters import uncertainty
from tunememory.history import pace_of
from tunememory.music.tune import Declared
from tunememory.recall.belief import Beliefs, Entry, first_beliefs
from tunememory.recall.chances import opening_columns
from tunememory.recall.check import FIRST_START_COLUMN
from tunememory.recall.forgetting import (
    chance,
    elapsed_days,
    felt_days,
    mean_success,
    success_curve,
    widening,
)
from tunememory.recall.gain import ask_value, gain_parts
from tunememory.recall.parameters import Parameters, plausible, side_by_side
from tunememory.recall.state import SAFE
from tunememory.recall.update import EventRows, advance_some

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tunememory.recall.forgetting import Bools, Floats, Ints
    from tunememory.session import Session


YEAR = 364
"""Days looked ahead: 52 weeks."""

REPLAN = 4
"""Days planned at once. Own choice, for speed: a worth moves little in four days."""

_LOOK = 2 * REPLAN
"""Days from one look at what would come to the next."""

QUANTILES = (0.1, 0.5, 0.9)
"""Shares of the lives below the lower end, the middle and the upper end of a range."""

MOST_TUNES = 300
"""A larger repertoire is stood for by so many of its tunes, with their share of the checks."""

TUNES_OF_A_TRY = 80
"""Tunes that stand for all while numbers of new tunes are tried."""

MORE_MINUTES = 2.0
"""Minutes a day added to see what they would bring."""

MOST_NEW = 16
"""New tunes a month beyond which nobody looks."""

LIVES = 10
"""Lives that are lived; a range is what 8 of them reach."""

SEED = 1903
"""The same repertoire on the same day has the same forecast."""

HABIT_DAYS = 56
"""Days from which it is seen how often the player practises."""

LEAST_DAYS = 14
"""Days with less history tell nothing of habits; then every day is assumed."""

LONGEST = 120.0
MOST_TUNES_ASKED = 5_000
"""Bounds of what may be asked."""


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
class Outset:
    """Where the year begins.

    Attributes:
        now: One strand of each of T tunes (``deciding``).
        at: Days since the epoch.
        lives: Parameters to live with, one set a life.
        seed: Of the luck: every year from here is lived with the same.
    """

    now: Beliefs
    at: float
    lives: Sequence[Parameters]
    seed: int


@dataclass(frozen=True, slots=True)
class YearPoint:
    """One evening of the year ahead, before any check.

    Attributes:
        day: Days from now.
        tunes: Tunes there are then.
        low: Tunes that would come: lower end of the range.
        middle: The middle.
        high: Upper end.
        sure: Tunes that are safe, the middle.
    """

    day: int
    tunes: int
    low: float
    middle: float
    high: float
    sure: float


@dataclass(frozen=True, slots=True)
class YearAhead:
    """What is to be expected.

    Attributes:
        minutes: Minutes of asking on a day of practice.
        checks: Checks they hold, at the player's pace.
        days: Share of days with practice, as the last weeks were.
        new_a_month: New tunes learned.
        points: The year.
        more_minutes: Minutes added in ``more``.
        more: The end of the year with those minutes more.
        borne: Most new tunes a month with which the average tune is still safe a year from now;
            ``None`` when it is not even without.
        most_new: More than this was not tried.
    """

    minutes: float
    checks: float
    days: float
    new_a_month: float
    points: tuple[YearPoint, ...]
    more_minutes: float
    more: YearPoint
    borne: int | None
    most_new: int


def year_ahead(
    session: Session,
    minutes: float,
    tunes: int | None,
    new_a_month: float,
    progress: Callable[[float], None],
) -> YearAhead:
    """Look a year ahead.

    Args:
        session: The open repertoire.
        minutes: Of asking on a day of practice, above 0.
        tunes: How many tunes; the player's own when ``None``. More than there are: filled up
            with tunes like them.
        new_a_month: New tunes learned each month.
        progress: Told the share done, 0 to 1; what it raises ends the work.

    Raises:
        NotDoneError: A number is out of its range, or there are no tunes to start from.
    """
    if not 0 < minutes <= LONGEST:
        raise NotDoneError(f"minutes can be above 0 and up to {LONGEST:.0f}")
    if not 0 <= new_a_month <= MOST_NEW:
        raise NotDoneError(f"new tunes a month can be from 0 to {MOST_NEW}")
    if tunes is not None and not 0 < tunes <= MOST_TUNES_ASKED:
        raise NotDoneError(f"tunes can be from 1 to {MOST_TUNES_ASKED}")
    rng = np.random.default_rng(SEED)
    at = session.now_days()
    beliefs = session.beliefs.some([tune.uuid for tune in session.active()])
    shown = chance(beliefs, at, session.params)
    now = deciding(beliefs, opening_columns(shown, beliefs.present), tunes, rng)
    if not len(now.mean):
        raise NotDoneError("there is no tune yet that can be asked for: add one first")
    seconds = pace_of(session).how
    habits = Habits(minutes * 60 / seconds, _share_of_days(session), new_a_month)
    outset = Outset(now, at, _lives(session, rng), int(rng.integers(2**63)))
    points, more, borne = forecast(outset, habits, MORE_MINUTES * 60 / seconds, progress)
    return YearAhead(
        minutes=minutes,
        checks=habits.checks_a_day,
        days=habits.days,
        new_a_month=new_a_month,
        points=points,
        more_minutes=MORE_MINUTES,
        more=more,
        borne=borne,
        most_new=MOST_NEW,
    )


def _lives(session: Session, rng: np.random.Generator) -> list[Parameters]:
    known = uncertainty(session)
    if known is None:
        return plausible(session.params, LIVES, rng)
    names, covariance = known
    return plausible(session.params, LIVES, rng, names, covariance)


def _share_of_days(session: Session) -> float:
    """Share of the last weeks' days with practice."""
    begin = session.day() - timedelta(days=HABIT_DAYS)
    since = session.now() - timedelta(days=HABIT_DAYS)
    days = [day for day in session.repertoire.sittings.practice_days(since) if day >= begin]
    if not days:
        return 1.0
    whole = (session.day() - days[0]).days
    return min(1.0, len(days) / whole) if whole >= LEAST_DAYS else 1.0


def deciding(
    beliefs: Beliefs, opening: Ints, count: int | None, rng: np.random.Generator
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
    return _alone(beliefs, rows, opening[rows])


def _alone(beliefs: Beliefs, rows: Ints, column: Ints) -> Beliefs:
    """One column of each of these rows: beliefs of one column."""
    return Beliefs(
        mean=beliefs.mean[rows, column][:, None],
        cov=beliefs.cov[rows, column, column][:, None, None],
        exposed_at=beliefs.exposed_at[rows, column][:, None],
        gained_day=beliefs.gained_day[rows, column][:, None],
        gains=beliefs.gains[rows, column][:, None],
        checks=beliefs.checks[rows, column][:, None],
        present=beliefs.present[rows, column][:, None],
    )


def forecast(
    outset: Outset, habits: Habits, more_checks: float, progress: Callable[[float], None]
) -> tuple[tuple[YearPoint, ...], YearPoint, int | None]:
    """Look a year ahead.

    Args:
        outset: Where it begins.
        habits: What the player does.
        more_checks: Cold checks that ``MORE_MINUTES`` hold.
        progress: Told the share done, 0 to 1; what it raises ends the work.

    Returns:
        The year with the minutes given, its end with ``MORE_MINUTES`` more, and the new tunes a
        month, 0 to ``MOST_NEW``, with which the average tune would still be safe at the end of
        it; ``None`` when it would not even without new ones.
    """
    tries = MOST_NEW.bit_length() + 1
    share_of_a_try = min(1.0, TUNES_OF_A_TRY / max(1, len(outset.now.mean)))
    total = 2.0 + tries * share_of_a_try
    done = 0.0

    def live(doing: Habits, most: int, share: float) -> tuple[YearPoint, ...]:
        nonlocal done
        before = done
        points = year_of(
            outset, doing, lambda part: progress((before + share * part) / total), most
        )
        done += share
        return points

    def bears(new: int) -> bool:
        end = live(replace(habits, new_a_month=float(new)), TUNES_OF_A_TRY, share_of_a_try)[-1]
        return end.middle >= SAFE * end.tunes

    points = live(habits, MOST_TUNES, 1.0)
    longer = replace(habits, checks_a_day=habits.checks_a_day + more_checks)
    more = live(longer, MOST_TUNES, 1.0)[-1]
    borne = _largest(bears, MOST_NEW)
    progress(1.0)
    return points, more, borne


def _largest(holds: Callable[[int], bool], most: int) -> int | None:
    """Return the largest number up to ``most`` that holds; ``None`` when 0 does not."""
    if not holds(0):
        return None
    low, high = 0, most + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def year_of(
    outset: Outset, habits: Habits, progress: Callable[[float], None], most: int = MOST_TUNES
) -> tuple[YearPoint, ...]:
    """Live one year, in every life.

    Args:
        outset: Where it begins.
        habits: What the player does.
        progress: Told the share done, 0 to 1.
        most: Tunes that stand for all when there are more.
    """
    rng = np.random.default_rng(outset.seed)
    few, share = _thinned(outset.now, most)
    fewer = replace(
        habits,
        checks_a_day=share * habits.checks_a_day,
        new_a_month=share * habits.new_a_month,
    )
    years = _Lives(replace(outset, now=few), fewer)
    points = []
    for day in range(0, YEAR + REPLAN, REPLAN):
        if day % _LOOK == 0 or day == YEAR:
            tunes, called, sure = (each / share for each in years.standing(outset.at + day))
            low, middle, high = np.quantile(called, QUANTILES).tolist()
            points.append(
                YearPoint(day, round(tunes[0]), low, middle, high, float(np.quantile(sure, 0.5)))
            )
        years.live(range(day, min(day + REPLAN, YEAR)), rng)
        progress(day / YEAR)
    return tuple(points)


def _thinned(now: Beliefs, most: int) -> tuple[Beliefs, float]:
    """Every so-manieth tune in the order of stability, and the share of all that they are."""
    have = len(now.mean)
    if have <= most:
        return now, 1.0
    by_mean = np.argsort(now.mean[:, 0], kind="stable")
    return now.rows(np.sort(by_mean[(np.arange(most) * have) // most])), most / have


class _Lives:
    """R lives with N tunes each, life after life in one batch of R N rows and one column."""

    def __init__(self, outset: Outset, habits: Habits) -> None:
        self._at, self._habits, self._lives = outset.at, habits, len(outset.lives)
        have = len(outset.now.mean)
        new = round(12 * habits.new_a_month)
        # (N,) the day on which each tune comes in.
        self._comes = np.concatenate(
            [np.full(have, -np.inf), outset.at + (np.arange(new) + 1) * YEAR / (new + 1)]
        )
        self._params = side_by_side([one for one in outset.lives for _ in self._comes])
        entries = [Entry((FIRST_START_COLUMN,), Declared.NEW, day) for day in self._comes[have:]]
        first = np.full(new, FIRST_START_COLUMN)
        blocks = [
            block
            for one in outset.lives
            for block in (outset.now, _alone(first_beliefs(entries, one), np.arange(new), first))
        ]
        self._beliefs = reduce(Beliefs.over, blocks)

    def standing(self, at: float) -> tuple[Floats, Floats, Floats]:
        """In each life (R,): tunes there are, tunes that come, tunes that are safe."""
        here = self._here(at)
        chance = np.where(here, self._chances(at).reshape(here.shape), 0.0)
        tunes, safe = (counted.sum(axis=1).astype(np.float64) for counted in (here, chance >= SAFE))
        return tunes, chance.sum(axis=1), safe

    def live(self, days: range, rng: np.random.Generator) -> None:
        """Plan and live some days in every life."""
        # Luck is drawn whether it is needed or not, so that other habits meet the same days.
        practised = rng.random((len(days), self._lives)) < self._habits.days
        luck = np.random.default_rng(int(rng.integers(2**63)))
        if not days:
            return
        order = self._order(self._at + days[0])
        room = [_whole(self._habits.checks_a_day, day) for day in days]
        rows: list[Ints] = []
        when: list[Ints] = []
        for life in range(self._lives):
            used = 0
            for day, checks, there in zip(days, room, practised[:, life], strict=True):
                if there:
                    some = order[life][used : used + checks]
                    used += len(some)
                    rows.append(some)
                    when.append(np.full(len(some), day))
        if rows:
            self._ask(np.concatenate(rows), np.concatenate(when), luck)

    def _here(self, at: float) -> Bools:
        """(R, N) whether the tune has come in."""
        return np.tile(self._comes <= at, (self._lives, 1))

    def _chances(self, at: float) -> Floats:
        """(R N,) chance of a level of 3 or 4, each life with its own parameters."""
        elapsed = elapsed_days(self._beliefs.exposed_at[:, 0], at)
        variance = self._beliefs.cov[:, 0, 0] + widening(elapsed, self._params)
        log_time = np.log(felt_days(elapsed, self._params))
        return mean_success(self._beliefs.mean[:, 0], variance, log_time, self._params)

    def _order(self, at: float) -> list[Ints]:
        """Rows of each life that may be asked, worth most first."""
        here = self._here(at)
        shape = (*here.shape, 1)
        parts = gain_parts(self._beliefs, at, self._params)
        keeping, growing = (
            np.where(here[..., None], part.reshape(shape), np.nan) for part in parts
        )
        worth = ask_value(keeping, growing, max(1, round(self._habits.checks_a_day)))[..., 0]
        best = np.argsort(-np.where(here, worth, -np.inf), axis=1, kind="stable")
        tunes = here.shape[1]
        return [life * tunes + best[life][: here[life].sum()] for life in range(self._lives)]

    def _ask(self, rows: Ints, later: Ints, luck: np.random.Generator) -> None:
        """Ask for these rows, each once: draw a level that is believed likely, and believe it.

        Args:
            rows: (M,) which are asked, each at most once.
            later: (M,) days from the outset.
            luck: What x is, and what level comes of it.
        """
        when = self._at + later.astype(np.float64)
        own = self._params.of_rows(rows)
        some = self._beliefs.rows(rows)
        elapsed = elapsed_days(some.exposed_at[:, 0], when)
        variance = some.cov[:, 0, 0] + widening(elapsed, own)
        x = some.mean[:, 0] + np.sqrt(variance) * luck.standard_normal(len(rows))
        z = own.slope * (x - np.log(felt_days(elapsed, own)))
        u = (luck.random(len(rows)) - 0.5 * own.lapse) / (1.0 - own.lapse)
        cuts = (own.join_in, 0.0, own.kick_off)
        level = 1 + np.sum([u < success_curve(z - cut) for cut in cuts], axis=0)
        event = EventRows(
            at=when,
            day=int(self._at) + later,
            level=level[:, None],
            exposed=np.zeros((len(rows), 1), dtype=np.bool_),
            minutes=np.zeros(len(rows)),
        )
        advance_some(self._beliefs, rows, event, self._params)


def _whole(checks_a_day: float, day: int) -> int:
    """Checks of one day, so that over the days none is lost to rounding."""
    return int(checks_a_day * (day + 1)) - int(checks_a_day * day)


def sentence(found: YearAhead) -> str:
    """Say it in plain words."""
    first, last = found.points[0], found.points[-1]
    gained = round(found.more.middle) - round(last.middle)
    more = (
        f"{found.more_minutes:.0f} minutes more would keep about {gained} more"
        if gained > 0
        else f"{found.more_minutes:.0f} minutes more would change little"
    )
    if found.borne is None:
        new = "there is no room for new tunes if the average one is to come 8 times in 10"
    elif found.borne == 0:
        new = "there is no room for a new tune every month"
    else:
        many = "or more " if found.borne == found.most_new else ""
        word = "tune" if found.borne == 1 else "tunes"
        new = f"there is room for {found.borne} {many}new {word} a month"
    return (
        f"Of {first.tunes} tunes about {first.middle:.0f} would come tonight; in a year "
        f"about {last.middle:.0f} of {last.tunes} ({last.low:.0f} to {last.high:.0f}). "
        f"{more[0].upper()}{more[1:]}, and {new}."
    )


def assumed(found: YearAhead) -> str:
    """Say what the forecast takes for granted."""
    days = round(7 * found.days)
    minutes = "minute" if found.minutes == 1 else "minutes"
    often = "every day" if days >= 7 else f"{max(1, days)} days a week"
    return (
        f"Taken for granted: {found.minutes:g} {minutes} of cold checks {often} "
        f"({found.checks:.0f} checks), {_new_words(found.new_a_month)}, "
        "and that your memory goes on as we believe it does now."
    )


def _new_words(new_a_month: float) -> str:
    if not new_a_month:
        return "no new tunes"
    return f"{new_a_month:g} new {'tune' if new_a_month == 1 else 'tunes'} a month"
