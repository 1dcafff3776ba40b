"""The tune list, a tune's page, and what is fading."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.history import not_lost_by_time, returned
from tunememory.library.starts import StartView, start_views
from tunememory.library.twins import Twin, ensure, twins_of
from tunememory.music.fingering import easy_drones_words, strings_for
from tunememory.recall.belief import stack
from tunememory.recall.chances import (
    Chances,
    StrandView,
    chance_at,
    chances_of,
    strand_name,
    strand_views,
    weakest,
    weakest_chances,
)
from tunememory.recall.check import joined_by
from tunememory.text import ARTICLES, fold

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tunememory.music.tune import Tune
    from tunememory.recall.check import Check
    from tunememory.recall.state import Chance
    from tunememory.session import Session
    from tunememory.settings import Settings


@dataclass(frozen=True, slots=True)
class TuneRow:
    """A tune, the tuning it is played in, and its chance of being started now."""

    tune: Tune
    tuning: str
    chance: Chance

    @property
    def folded(self) -> str:
        """Its titles as they are searched."""
        return _folded(self.tune.titles)


@dataclass(frozen=True, slots=True)
class CheckView:
    """A past check of a tune; ``into`` is the title a join leads to, empty for other checks."""

    check: Check
    into: str = ""


@dataclass(frozen=True, slots=True)
class TuneView:
    """A tune's page."""

    tune: Tune
    chance: Chance
    strands: tuple[StrandView, ...]
    starts: tuple[StartView, ...]
    twins: tuple[Twin, ...]
    history: tuple[CheckView, ...]
    curve: tuple[tuple[float, float, float, float], ...]
    """``(days from now, chance, low, high)`` of the tune over the next weeks."""
    drones: str = ""
    """Open strings that drone easily under it, in words."""


@dataclass(frozen=True, slots=True)
class FadingRow:
    """A tune's weakest strand."""

    tune: Tune
    strand: str
    chance: Chance


def tune_rows(session: Session) -> tuple[TuneRow, ...]:
    """Return every tune as a line of the tune list, in title order, nameless ones last."""
    lines = _rows(session, session.tunes.values(), chances_now(session))
    return tuple(sorted(lines, key=_title_place))


def rows_of(session: Session, uuids: Sequence[str]) -> tuple[TuneRow, ...]:
    """Return some tunes as lines of the tune list, in the order given."""
    chances = chances_of(session.beliefs.some(uuids), session.now_days(), session.params)
    return tuple(_rows(session, map(session.tune, uuids), chances))


def fading_tunes(session: Session, days_ahead: int = 0) -> tuple[FadingRow, ...]:
    """Return the weakest strand of every kept or learning tune, lowest chance first.

    Args:
        session: The open repertoire.
        days_ahead: Look at the chances this many days from now, nothing being asked till then.
    """
    chances, back = chances_now(session, days_ahead), returned(session)
    columns = weakest(chances)
    found = [
        FadingRow(
            tune=tune,
            strand=strand_name(columns[place]),
            chance=not_lost_by_time(
                chance_at(chances, place, columns[place], session.last_met.get(tune.uuid)), back
            ),
        )
        for place, tune in enumerate(session.tunes.values())
        if tune.status.asked_for and columns[place] >= 0
    ]
    return tuple(sorted(found, key=lambda row: (row.chance.chance, row.tune.title, row.tune.uuid)))


def _title_place(row: TuneRow) -> tuple[bool, str, str]:
    first, _, rest = row.folded.partition(" ")
    return not row.folded, rest if rest and first in ARTICLES else row.folded, row.tune.uuid


def chances_now(session: Session, days_ahead: int = 0) -> Chances:
    """Return the chances of every tune, so many days from now if nothing is asked till then."""
    return chances_of(session.beliefs.all(), session.now_days() + days_ahead, session.params)


def _rows(session: Session, tunes: Iterable[Tune], chances: Chances) -> Iterator[TuneRow]:
    """Give tunes as lines of the tune list; ``chances`` are theirs, one row a tune."""
    back, met = returned(session), session.last_met
    for place, tune in enumerate(tunes):
        chance = chance_at(chances, place, int(chances.opening[place]), met.get(tune.uuid))
        tuning = (tune.tuning or session.settings.usual).letters
        yield TuneRow(tune, tuning, not_lost_by_time(chance, back))


@lru_cache(maxsize=20_000)
def _folded(titles: tuple[str, ...]) -> str:
    return " ".join(map(folded_title, titles))


@lru_cache(maxsize=40_000)
def folded_title(title: str) -> str:
    """Return ``fold(title)``, at once where it was folded before."""
    return fold(title)


CURVE_DAYS = (*range(8), *range(9, 30, 3), *range(30, 61, 5))
"""Days from now at which the curve of a tune is worked out; it is all but straight between them."""

HISTORY_SHOWN = 50
"""Past checks handed to a page."""


def tune_view(session: Session, uuid: str) -> TuneView:
    """Return a tune's page.

    Raises:
        NotDoneError: It is no longer in the repertoire.
    """
    tune = session.tune(uuid)
    ensure(session, [uuid])
    chances = chances_of(session.beliefs.some([uuid]), session.now_days(), session.params)
    last = session.last_met.get(uuid)
    checks = session.repertoire.checks.all(uuid)[-HISTORY_SHOWN:]
    history = tuple(_check_view(session, check) for check in reversed(checks))
    return TuneView(
        tune=tune,
        chance=chance_at(chances, 0, int(chances.opening[0]), last),
        strands=strand_views(chances, 0, tune, last),
        starts=start_views(tune, session.settings),
        twins=twins_of(session, uuid),
        history=history,
        curve=_curve(session, uuid, int(chances.opening[0])),
        drones=_drones(tune, session.settings),
    )


def _drones(tune: Tune, settings: Settings) -> str:
    if tune.key is None or settings.on.reach is not None:
        return ""
    return easy_drones_words(tune.key.root_class, strings_for(tune.tuning, settings.usual))


def chance_of(session: Session, uuid: str, strands: Iterable[str]) -> float:
    """Return the chance of a tune's weakest strand among ``strands``, 0 when it has none."""
    belief = stack([session.beliefs.of(uuid)])
    return weakest_chances(belief, strands, session.now_days(), session.params)[0]


def _check_view(session: Session, check: Check) -> CheckView:
    into = joined_by(check.levels[0][0])
    second = session.tunes.get(into)
    return CheckView(check, second.title if second else "a tune that was removed" if into else "")


def _curve(
    session: Session, uuid: str, column: int
) -> tuple[tuple[float, float, float, float], ...]:
    if column < 0:
        return ()
    points: list[tuple[float, float, float, float]] = []
    belief = session.beliefs.some([uuid])
    for ahead in CURVE_DAYS:
        chances = chances_of(belief, session.now_days() + ahead, session.params)
        points.append(
            (
                float(ahead),
                float(chances.chance[0, column]),
                float(chances.low[0, column]),
                float(chances.high[0, column]),
            )
        )
    return tuple(points)
