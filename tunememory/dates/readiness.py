"""How ready a date finds the player: how likely each of its tunes can be started on the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from tunememory.dates import agenda
from tunememory.dates.agenda import date_of, dates_of, days_off_of
from tunememory.dates.recurrence import playing_days, tunes_of
from tunememory.dates.weights import load
from tunememory.dates.words import date_words
from tunememory.history import pace_of, prompts_in
from tunememory.library.overview import rows_of
from tunememory.library.sets import name_of
from tunememory.recall.chances import start_chances
from tunememory.recall.forgetting import (
    NODES,
    WEIGHTS,
    chance,
    elapsed_days,
    felt_days,
    lapsed,
    shrink,
    success_curve,
    widening,
)
from tunememory.recall.state import SAFE

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from tunememory.music.tune import Tune
    from tunememory.recall.belief import Beliefs
    from tunememory.recall.parameters import Parameters
    from tunememory.session import Session
    from tunememory.store.records import Date


ENOUGH = 0.5
"""Share of a date's tunes that should be able to be ready; below it some are better left out."""

_FEWEST_KEPT = 1 / 3
"""Share of the tunes that is never advised to be left out."""


class Readiness(StrEnum):
    """How a tune stands for a date."""

    READY = "ready"
    WILL_BE = "ready if the plan is kept"
    NOT_YET = "not yet"


@dataclass(frozen=True, slots=True)
class Days:
    """The time there is until a date.

    Attributes:
        now: This moment on the model's scale of days.
        today: The present practice day.
        on: The day of the date, not before ``today``.
        playing: Practice days from today on that are not off, ascending.
        prompts: How many of the date's tunes can be asked on a day that is all theirs.
    """

    now: float
    today: date
    on: date
    playing: tuple[date, ...]
    prompts: float

    def at(self, day: date) -> float:
        """The moment on the model's scale that lies on ``day``."""
        return self.now + (day - self.today).days


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """What is to be expected of T tunes on the day.

    Attributes:
        untouched: (T,) chance of starting each if nothing is done.
        kept: (T,) the same if the plan is kept.
        asked: (T,) how often the plan asks each.
    """

    untouched: NDArray[np.float64]
    kept: NDArray[np.float64]
    asked: NDArray[np.int64]

    @property
    def ready(self) -> int:
        """How many will be ready if the plan is kept."""
        return int((self.kept >= SAFE).sum())

    def of(self, row: int) -> Readiness:
        """How one tune stands."""
        if self.untouched[row] >= SAFE:
            return Readiness.READY
        return Readiness.WILL_BE if self.kept[row] >= SAFE else Readiness.NOT_YET


def forecast(beliefs: Beliefs, params: Parameters, days: Days) -> Forecast:
    """Foretell the tunes of a date.

    Args:
        beliefs: About the T tunes of the date.
        params: The player's parameters.
        days: The time there is.
    """
    on = days.at(days.on)
    untouched = start_chances(chance(beliefs, on, params), beliefs.present)
    asked_at = schedule(untouched, days)
    kept = start_chances(if_asked(beliefs, asked_at, on, params), beliefs.present)
    return Forecast(untouched, kept, np.isfinite(asked_at).sum(axis=1))


def schedule(untouched: NDArray[np.float64], days: Days) -> NDArray[np.float64]:
    """Return when a plan that works backwards from the date asks each tune.

    Each playing day before the date has room for some of its tunes (``weights.load``); they go to
    those asked least so far, the weakest first.

    Args:
        untouched: (T,) chance on the day of each tune if nothing is done.
        days: The time there is.

    Returns:
        (T, K) moments on the model's scale, ascending along each row and filled up with nan.
    """
    times: list[list[float]] = [[] for _ in untouched]
    room = 0.0
    for day in days.playing:
        if day < days.on:
            room += days.prompts * load((days.on - day).days)
            order = sorted(range(len(times)), key=lambda row: (len(times[row]), untouched[row]))
            for row in order[: int(room)]:
                times[row].append(days.at(day))
            room -= int(room)
    plan = np.full((len(times), max(map(len, times), default=0)), np.nan)
    for row, moments in enumerate(times):
        plan[row, : len(moments)] = moments
    return plan


def if_asked(
    beliefs: Beliefs, asked_at: NDArray[np.float64], on: float, params: Parameters
) -> NDArray[np.float64]:
    """Return (T, F) chances at ``on`` if each tune is asked at the moments given.

    Each node of the belief is carried through the checks by the growth expected there, over the
    level that may come (``memory.update``); what a check would tell us changes nothing on average.
    Within .03 of simulated players that learn as the model says.

    Args:
        beliefs: T tunes, F columns.
        asked_at: (T, K) moments, ascending, not more than one a day; nan for none.
        on: The moment foretold.
        params: The player's parameters.
    """
    nodes = np.array(NODES)[:, None, None]
    weights = np.array(WEIGHTS)[:, None, None]
    x = beliefs.mean + nodes * np.sqrt(beliefs.variance)
    noise = np.zeros(beliefs.mean.shape)
    exposed = beliefs.exposed_at.copy()
    for k in range(asked_at.shape[1]):
        asked = np.isfinite(asked_at[:, k])[:, None] & beliefs.present
        at = np.where(asked, asked_at[:, k, None], exposed)
        elapsed = elapsed_days(exposed, at)
        noise += np.where(asked, widening(elapsed, params), 0.0)
        z = params.slope * (x - np.log(felt_days(elapsed, params)))
        success = lapsed(success_curve(z * shrink(noise, params)), params)
        best = lapsed(success_curve((z - params.kick_off) * shrink(noise, params)), params)
        p = (weights * success).sum(axis=0)
        grown = params.gain * (1.0 - p) ** params.gain_power + params.gain_floor
        gain = grown * (best + params.gain_found * (success - best))
        gain += params.gain_failed * (1.0 - success)
        x = x + np.where(asked, gain, 0.0)
        noise += np.where(asked, params.gain_noise, 0.0)
        exposed = np.where(asked, at, exposed)
    elapsed = elapsed_days(exposed, on)
    noise += widening(elapsed, params)
    z = params.slope * (x - np.log(felt_days(elapsed, params))) * shrink(noise, params)
    later = (weights * lapsed(success_curve(z), params)).sum(axis=0)
    return np.where(beliefs.present, later, np.nan)


def leave_out(beliefs: Beliefs, params: Parameters, days: Days) -> tuple[int, ...]:
    """Return the tunes to leave out so that half of the rest can be ready, weakest first.

    Empty where half can be ready as it is. The time of a tune left out goes to the others; at
    least a third of the tunes stays.

    Args:
        beliefs: About the tunes of the date.
        params: The player's parameters.
        days: The time there is.
    """
    staying = list(range(len(beliefs.mean)))
    out: list[int] = []
    fewest = max(1, int(np.ceil(_FEWEST_KEPT * len(staying))))
    while len(staying) > fewest:
        said = forecast(beliefs.rows(np.array(staying)), params, days)
        if said.ready >= ENOUGH * len(staying):
            break
        out.append(staying.pop(int(said.kept.argmin())))
    return tuple(out)


LOOKED_AHEAD = 120
"""Days before a date in which the plan may ask its tunes; nobody plans further ahead."""


@dataclass(frozen=True, slots=True)
class DateTune:
    """A tune wanted at a date.

    Attributes:
        tune: The tune.
        tuning: Letters of its tuning, the usual one filled in.
        chance: Of starting it now.
        untouched: On the day if nothing is done.
        kept: On the day if the plan is kept.
        played: When it was last played there.
    """

    tune: Tune
    tuning: str
    chance: float
    untouched: float
    kept: float
    readiness: Readiness
    played: date | None


@dataclass(frozen=True, slots=True)
class DateView:
    """A date and how ready it finds the player.

    Attributes:
        dated: The date.
        when: In words.
        on: Its next day, ``None`` when it is over.
        days: Days until then.
        wanted: How many tunes, those of its sets included.
        ready: How many are ready as it is.
        will_be: How many more will be if the plan is kept.
        sets: Names of its sets.
        tunes: Not yet ready ones first; only where one date is looked at.
        leave_out: Titles to leave out if under half can be ready.
    """

    dated: Date
    when: str
    on: date | None
    days: int | None
    wanted: int
    ready: int
    will_be: int
    sets: tuple[str, ...]
    tunes: tuple[DateTune, ...] = ()
    leave_out: tuple[str, ...] = ()


def all_dates(session: Session) -> tuple[DateView, ...]:
    """Return every date, those that come soonest first, then those that are over, newest first."""
    coming = agenda.coming(session)
    still = {dated.uuid for _, dated in coming}
    over = [dated for dated in dates_of(session).values() if dated.uuid not in still]
    over.sort(key=lambda dated: (-dated.first_day.toordinal(), dated.title, dated.uuid))
    return (
        *(_view(session, dated, on) for on, dated in coming),
        *(_view(session, dated, None) for dated in over),
    )


def next_ones(session: Session, most: int) -> tuple[DateView, ...]:
    """Return the next dates, soonest first."""
    return tuple(_view(session, dated, on) for on, dated in agenda.coming(session)[:most])


def date_view(session: Session, uuid: str) -> DateView:
    """Return one date with its tunes, and what to leave out if under half can be ready.

    Raises:
        NotDoneError: It is gone.
    """
    dated = date_of(session, uuid)
    days = {coming.uuid: on for on, coming in agenda.coming(session)}
    return _view(session, dated, days.get(uuid), whole=True)


def _view(session: Session, dated: Date, on: date | None, *, whole: bool = False) -> DateView:
    uuids = [uuid for uuid in tunes_of(dated, session.sets) if uuid in session.tunes]
    said, days = None, None
    if on is not None and uuids:
        days = _days(session, on)
        said = forecast(session.beliefs.some(uuids), session.params, days)
    counts = [said.of(row) for row in range(len(uuids))] if said else []
    tunes: tuple[DateTune, ...] = ()
    out: tuple[str, ...] = ()
    if whole:
        tunes = _tunes(session, dated, uuids, said)
        if days is not None:
            places = leave_out(session.beliefs.some(uuids), session.params, days)
            out = tuple(session.tune(uuids[place]).title for place in places)
    return DateView(
        dated=dated,
        when=date_words(dated, session.day()),
        on=on,
        days=None if on is None else (on - session.day()).days,
        wanted=len(uuids),
        ready=counts.count(Readiness.READY),
        will_be=counts.count(Readiness.WILL_BE),
        sets=tuple(
            name_of(session, session.sets[uuid]) for uuid in dated.sets if uuid in session.sets
        ),
        tunes=tunes,
        leave_out=out,
    )


def _days(session: Session, on: date) -> Days:
    today = session.day()
    first = max(today, on - timedelta(days=LOOKED_AHEAD))
    playing = playing_days(first, on, days_off_of(session))
    return Days(session.now_days(), today, on, playing, prompts_in(session, pace_of(session)))


def _tunes(
    session: Session, dated: Date, uuids: list[str], said: Forecast | None
) -> tuple[DateTune, ...]:
    """The tunes of a date, those least ready first; of one that is over in their order."""
    played = session.repertoire.practices.last_played_at(dated.uuid)
    found = [
        DateTune(
            tune=row.tune,
            tuning=row.tuning,
            chance=row.chance.chance,
            untouched=float(said.untouched[place]) if said else row.chance.chance,
            kept=float(said.kept[place]) if said else row.chance.chance,
            readiness=said.of(place) if said else Readiness.NOT_YET,
            played=played.get(row.tune.uuid),
        )
        for place, row in enumerate(rows_of(session, uuids))
    ]
    order = np.argsort(said.kept, kind="stable") if said else range(len(found))
    return tuple(found[int(place)] for place in order)
