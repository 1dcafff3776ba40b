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
from typing import TYPE_CHECKING, Any

import numpy as np

from tunememory.errors import NotDoneError
from tunememory.forecast.own_parameters import uncertainty
from tunememory.history.days import pace_of
from tunememory.music.tune import Declared
from tunememory.recall.belief import Beliefs, Entry, first_beliefs
from tunememory.recall.chances import opening_columns
from tunememory.recall.check import FIRST_START_COLUMN
from tunememory.recall.fitting import plausible
from tunememory.recall.forgetting import (
    chance,
    elapsed_days,
    felt_days,
    mean_success,
    success_curve,
    widening,
)
from tunememory.recall.gain import ask_value, asking
from tunememory.recall.parameters import Parameters, side_by_side
from tunememory.recall.state import SAFE
from tunememory.recall.update import EventRows, advance_some

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from tunememory.session import Session


_SINGLE = ("mean", "exposed_at", "gained_day", "gains", "checks", "present")


def alone(beliefs: Beliefs, rows: NDArray[np.int64], column: NDArray[np.int64]) -> Beliefs:
    """One column of each of these rows: beliefs of one column."""
    single: dict[str, Any] = {
        name: getattr(beliefs, name)[rows, column][:, None] for name in _SINGLE
    }
    return Beliefs(**single, cov=beliefs.cov[rows, column, column][:, None, None])


def joined(blocks: Sequence[Beliefs]) -> Beliefs:
    """Beliefs one after the other; all of the same columns."""
    whole: dict[str, Any] = {
        name: np.concatenate([getattr(block, name) for block in blocks])
        for name in (*_SINGLE, "cov")
    }
    return Beliefs(**whole)


def thinned(now: Beliefs, most: int) -> tuple[Beliefs, float]:
    """Every so-manieth tune in the order of stability, and the share of all that they are."""
    have = len(now.mean)
    if have <= most:
        return now, 1.0
    by_mean = np.argsort(now.mean[:, 0], kind="stable")
    return now.rows(np.sort(by_mean[(np.arange(most) * have) // most])), most / have


def chances(beliefs: Beliefs, at: float, params: Parameters) -> NDArray[np.float64]:
    """(R,) chance of a level of 3 or 4 of the one strand; parameters may differ by row."""
    elapsed = elapsed_days(beliefs.exposed_at[:, 0], at)
    variance = beliefs.cov[:, 0, 0] + widening(elapsed, params)
    log_time = np.log(felt_days(elapsed, params))
    return mean_success(beliefs.mean[:, 0], variance, log_time, params)


def ask(
    beliefs: Beliefs,
    rows: NDArray[np.int64],
    when: NDArray[np.float64],
    days: NDArray[np.int64],
    params: Parameters,
    *,
    normal: NDArray[np.float64],
    uniform: NDArray[np.float64],
) -> None:
    """Ask for these rows, each once: draw a level that is believed likely, and believe it.

    Args:
        beliefs: R strands, changed in place.
        rows: (N,) which are asked, each at most once.
        when: (N,) days since the epoch.
        days: (N,) ordinals of practice days.
        params: Of each row.
        normal: (N,) luck of what x is.
        uniform: (N,) luck of the level given x.
    """
    own = params.of_rows(rows)
    some = beliefs.rows(rows)
    elapsed = elapsed_days(some.exposed_at[:, 0], when)
    variance = some.cov[:, 0, 0] + widening(elapsed, own)
    x = some.mean[:, 0] + np.sqrt(variance) * normal
    z = own.slope * (x - np.log(felt_days(elapsed, own)))
    u = (uniform - 0.5 * own.lapse) / (1.0 - own.lapse)
    cuts = (own.join_in, 0.0, own.kick_off)
    level = 1 + np.sum([u < success_curve(z - cut) for cut in cuts], axis=0)
    event = EventRows(
        at=when,
        day=days,
        level=level[:, None],
        exposed=np.zeros((len(rows), 1), dtype=np.bool_),
        minutes=np.zeros(len(rows)),
    )
    advance_some(beliefs, rows, event, params)


YEAR = 364
"""Days looked ahead: 52 weeks."""

QUANTILES = (0.1, 0.5, 0.9)
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
        callable: (W, 3) tunes that would come on that evening: ends and middle of ``QUANTILES``.
        sure: (W, 3) tunes with a chance of ``SAFE`` or more.
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
        np.quantile(called, QUANTILES, axis=1).T,
        np.quantile(sure, QUANTILES, axis=1).T,
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
            counted.sum(axis=1).astype(np.float64) for counted in (here, chance, chance >= SAFE)
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
            come ``SAFE`` of the time at the end of the year; ``None`` when it would not even
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
        return bool(course.callable[-1, 1] >= SAFE * course.tunes[-1])

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
class YearPoint:
    """One evening of the year ahead, before any check.

    Attributes:
        day: Days from now.
        tunes: Tunes there are then.
        low: Tunes that would come: lower end of the range.
        middle: The middle.
        high: Upper end.
        sure: Tunes that would come 8 times in 10 or more, the middle.
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
        borne: Most new tunes a month with which the average tune still comes 8 times in 10 a
            year from now; ``None`` when it does not even without.
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
        progress: Told the share done; what it raises ends the work.

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
    beliefs = session.remembered.some([tune.uuid for tune in session.active()])
    shown = chance(beliefs, at, session.params)
    now = deciding(beliefs, opening_columns(shown, beliefs.present), tunes, rng)
    if not len(now.mean):
        raise NotDoneError("there is no tune yet that can be asked for: add one first")
    pace = pace_of(session)
    habits = Habits(minutes * 60 / pace.how, _share_of_days(session), new_a_month)
    more_checks = MORE_MINUTES * 60 / pace.how
    found = forecast(now, at, _lives(session, rng), habits, more_checks, rng, progress)
    return YearAhead(
        minutes=minutes,
        checks=habits.checks_a_day,
        days=habits.days,
        new_a_month=new_a_month,
        points=_points(found.course),
        more_minutes=MORE_MINUTES,
        more=_points(found.more)[-1],
        borne=found.borne,
        most_new=MOST_NEW,
    )


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


def _points(course: Course) -> tuple[YearPoint, ...]:
    ranges = course.callable.tolist()
    columns = (course.days.tolist(), course.tunes.tolist(), ranges, course.sure[:, 1].tolist())
    return tuple(
        YearPoint(day, tunes, low, middle, high, sure)
        for day, tunes, (low, middle, high), sure in zip(*columns, strict=True)
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
