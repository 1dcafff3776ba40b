"""One tune's page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.memory.belief import stack
from tunememory.service.chances import (
    Picture,
    chance_at,
    picture,
    strand_views,
    weakest_chances,
)
from tunememory.service.shown import start_views
from tunememory.service.twins import ensure, twins_of
from tunememory.service.views import CheckView, TuneView
from tunememory.tunes.check import joined_by
from tunememory.tunes.drones import easy_drones_told
from tunememory.tunes.instruments import strings_for

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tunememory.service.open_file import OpenFile
    from tunememory.service.settings import Settings
    from tunememory.tunes.check import Check
    from tunememory.tunes.tune import Tune

CURVE_DAYS = (*range(8), *range(9, 30, 3), *range(30, 61, 5))
"""Days from now at which the curve of a tune is worked out; it is all but straight between them."""

HISTORY_SHOWN = 50
"""Past checks handed to a page."""


def view(desk: OpenFile, uuid: str) -> TuneView:
    """Return a tune's page.

    Raises:
        ServiceError: It is no longer in the repertoire.
    """
    tune = desk.tune(uuid)
    ensure(desk, [uuid])
    drawn = picture_of(desk, uuid)
    last = desk.last_met.get(uuid)
    checks = desk.repertoire.checks(uuid)[-HISTORY_SHOWN:]
    history = tuple(_check_view(desk, check) for check in reversed(checks))
    return TuneView(
        tune=tune,
        chance=chance_at(drawn, 0, int(drawn.opening[0]), last),
        strands=strand_views(drawn, 0, tune, last),
        starts=start_views(tune, desk.settings),
        twins=twins_of(desk, uuid),
        history=history,
        curve=_curve(desk, uuid, int(drawn.opening[0])),
        drones=_drones(tune, desk.settings),
    )


def _drones(tune: Tune, settings: Settings) -> str:
    if tune.key is None or settings.on.reach is not None:
        return ""
    return easy_drones_told(tune.key.root_class, strings_for(tune.tuning, settings.usual))


def picture_of(desk: OpenFile, uuid: str) -> Picture:
    """Return one tune's chances now (T = 1)."""
    return picture(desk.remembered.some([uuid]), desk.now_days(), desk.params)


def chance_of(desk: OpenFile, uuid: str, strands: Iterable[str]) -> float:
    """Return the chance of a tune's weakest strand among ``strands``, 0 when it has none."""
    belief = stack([desk.remembered.of(uuid)])
    return weakest_chances(belief, strands, desk.now_days(), desk.params)[0]


def _check_view(desk: OpenFile, check: Check) -> CheckView:
    into = joined_by(check.levels[0][0])
    second = desk.tunes.get(into)
    return CheckView(
        check.day,
        check.prompt,
        check.round_kind,
        check.levels,
        check.hints,
        check.seconds,
        into=second.title if second else "a tune that was removed" if into else "",
    )


def _curve(desk: OpenFile, uuid: str, column: int) -> tuple[tuple[float, float, float, float], ...]:
    if column < 0:
        return ()
    points: list[tuple[float, float, float, float]] = []
    belief = desk.remembered.some([uuid])
    for ahead in CURVE_DAYS:
        drawn = picture(belief, desk.now_days() + ahead, desk.params)
        points.append(
            (
                float(ahead),
                float(drawn.chance[0, column]),
                float(drawn.low[0, column]),
                float(drawn.high[0, column]),
            )
        )
    return tuple(points)
