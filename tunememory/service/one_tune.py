"""A round of one tune that the player picked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.asking import COLUMNS
from tunememory.service.errors import ServiceError
from tunememory.service.overview import rows_of
from tunememory.service.rounds import pace_of
from tunememory.service.shown import start_views
from tunememory.service.twins import twins_of
from tunememory.service.views import Asked, Planned
from tunememory.tunes.check import Prompt, RoundKind, prompt_strands
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile


def plan_tune(desk: OpenFile, uuid: str) -> Planned:
    """Plan a loose round of one tune; nothing is written.

    It is asked for from its name, or, if it has none, for its name.

    Raises:
        ServiceError: The tune is gone, or there is nothing that can be asked of it.
    """
    tune = desk.tune(uuid)
    prompt = Prompt.HOW if prompt_strands(tune, Prompt.HOW) else Prompt.WHAT
    strands = prompt_strands(tune, prompt)
    if not strands:
        why = "it is only wanted" if tune.status is Status.WANTED else "it has no name yet"
        raise ServiceError(f"{tune.title} cannot be asked: {why}")
    (row,) = rows_of(desk, [uuid])
    asked = Asked(
        tune=tune,
        prompt=prompt,
        strands=strands,
        chance=row.chance.chance,
        why="",
        starts=start_views(tune, desk.settings.usual),
        twins=twins_of(desk, uuid),
        tuning=row.tuning,
    )
    minutes = pace_of(desk).of(COLUMNS[prompt]) / 60
    return Planned(
        RoundKind.LOOSE, desk.day(), row.tuning, minutes, (asked,), "", coming_back=False
    )
