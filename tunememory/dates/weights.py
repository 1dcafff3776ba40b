"""Working backwards from dates: how much a tune that is wanted there weighs today.

Most load in the days before, none on the day: players' and performing arts medicine's advice
(Horvath, Playing (Less) Hurt, 2010: ease off the day before and the day of a performance). On the
day before the round is as long as ever but in the head (``agenda.is_eve``), so it eases the hands
and still asks what is wanted tomorrow. The sizes are our own.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from tunememory.dates import agenda
from tunememory.dates.recurrence import is_regular, next_occurrence, tunes_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from tunememory.history import Join
    from tunememory.session import Session
    from tunememory.store.records import Date, TuneSet


HEAVY_DAYS = 7
"""The week before, in which a date's tunes come first."""

RISING_DAYS = 21
"""From so many days before they begin to come forward."""

HEAVY = 3.0
REGULAR = 1.5
"""What a tune weighs in the week before, against 1 for any other: for a date by itself, and for
a regular one, which comes round within two weeks and whose tunes would else never give way. Those
come forward on the day itself too (common practice, no source)."""

FULL_DAYS = 5
"""For so many days before a date the whole round is its own, the day before included."""

EARLY_LOAD = 1 / 3
"""Share of a round from ``RISING_DAYS`` on until then. Both chosen on simulated players: at 12
prompts a day for 20 tunes more days or more of them cost the other tunes and won little."""


def load(days_before: int) -> float:
    """Return the largest share of a day's prompts that goes to a date so many days ahead.

    All in the last days, none on the day, a third in the weeks before, none earlier.
    """
    if days_before <= 0 or days_before > RISING_DAYS:
        return 0.0
    return 1.0 if days_before <= FULL_DAYS else EARLY_LOAD


def factor(days_before: int | None, *, regular: bool = False) -> float:
    """Return what a tune weighs so many days before its date, against 1 for any other.

    Args:
        days_before: 0 on the day; ``None`` when none is coming.
        regular: Whether the date comes round within two weeks.
    """
    if days_before is None or days_before > RISING_DAYS:
        return 1.0
    if days_before <= 0 and not regular:
        return 0.0
    heavy = REGULAR if regular else HEAVY
    if days_before <= HEAVY_DAYS:
        return heavy
    return 1.0 + (heavy - 1.0) * (RISING_DAYS - days_before) / (RISING_DAYS - HEAVY_DAYS)


def date_weights(
    uuids: Sequence[str], dates: Iterable[Date], sets: Mapping[str, TuneSet], day: date
) -> NDArray[np.float64]:
    """Return what each tune weighs in the plan of ``day`` because of the dates coming.

    Of several dates the one that makes it heaviest counts, but what a date that is no regular one
    wants today is spared whatever comes later.

    Args:
        uuids: T tunes.
        dates: All dates.
        sets: Sets by identity.
        day: The practice day.

    Returns:
        (T,) factors, 0 or more; 1 for a tune no date wants.

    Raises:
        NotDoneError: The rule of a date cannot be read.
    """
    weights: dict[str, float] = {}
    for uuid, before, regular in _named(dates, sets, day):
        own, known = factor(before, regular=regular), weights.get(uuid, 1.0)
        weights[uuid] = max(known, own) if known and own else 0.0
    return np.array([weights.get(uuid, 1.0) for uuid in uuids])


def days_until(
    uuids: Sequence[str], dates: Iterable[Date], sets: Mapping[str, TuneSet], day: date
) -> NDArray[np.float64]:
    """Return in how many days each tune is named for a date that is no regular one.

    Arguments and errors as for ``date_weights``.

    Returns:
        (T,) days, 1 to ``RISING_DAYS``, of the soonest; nan for none.
    """
    soonest: dict[str, int] = {}
    for uuid, before, regular in _named(dates, sets, day):
        if 1 <= before <= RISING_DAYS and not regular:
            soonest[uuid] = min(soonest.get(uuid, RISING_DAYS), before)
    return np.array([soonest.get(uuid, np.nan) for uuid in uuids], dtype=float)


def _named(
    dates: Iterable[Date], sets: Mapping[str, TuneSet], day: date
) -> Iterator[tuple[str, int, bool]]:
    """Give each tune that a date names: identity, days until it falls next, whether regular."""
    for dated in dates:
        on = next_occurrence(dated, day)
        if on is not None:
            regular = is_regular(dated, on)
            for uuid in tunes_of(dated, sets):
                yield uuid, (on - day).days, regular


def awake(session: Session) -> frozenset[str]:
    """Return the tunes that must not rest today: a date is near, or its season has come."""
    day = session.day()
    needed: set[str] = set()
    for on, dated in agenda.coming(session):
        ahead = timedelta(weeks=dated.weeks_before) if dated.weeks_before else None
        if on - day <= (ahead or timedelta(days=RISING_DAYS)):
            needed.update(tunes_of(dated, session.sets))
    return frozenset(needed)


def date_weights_now(
    session: Session, uuids: Sequence[str], joins: Sequence[Join]
) -> NDArray[np.float64] | None:
    """Return what tunes and joins weigh today because of dates, ``None`` for all the same.

    A join weighs what the tune it leads to weighs, as far as a date wants its set.

    Args:
        session: The open repertoire.
        uuids: T identities, the joins last.
        joins: The joins.
    """
    if not agenda.dates_of(session):
        return None
    tunes = uuids[: len(uuids) - len(joins)]
    rows = (*tunes, *(second for _, second in joins))
    return date_weights(rows, agenda.dates_of(session).values(), session.sets, session.day())
