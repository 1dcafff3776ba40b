"""A round of tunes that the player picked."""

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
    from collections.abc import Sequence

    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import TuneRow
    from tunememory.tunes.tune import Tune


def plan_tune(desk: OpenFile, uuid: str) -> Planned:
    """Plan a loose round of one tune; nothing is written.

    It is asked for from its name, or, if it has none, for its name.

    Raises:
        ServiceError: The tune is gone, or there is nothing that can be asked of it.
    """
    tune = desk.tune(uuid)
    if not _prompt(tune)[1]:
        why = "it is only wanted" if tune.status is Status.WANTED else "it has no name yet"
        raise ServiceError(f"{tune.title} cannot be asked: {why}")
    return plan_tunes(desk, [uuid])


def plan_tunes(desk: OpenFile, uuids: Sequence[str]) -> Planned:
    """Plan a loose round of some tunes in their order; nothing is written.

    Each is asked for as ``plan_tune`` does; those of which nothing can be asked are left out.

    Raises:
        ServiceError: A tune is gone, or nothing can be asked of any of them.
    """
    able = [uuid for uuid in dict.fromkeys(uuids) if _prompt(desk.tune(uuid))[1]]
    if not able:
        raise ServiceError("nothing can be asked of these tunes")
    rows = rows_of(desk, able)
    asked = tuple(_asked(desk, row) for row in rows)
    pace = pace_of(desk)
    minutes = sum(pace.of(COLUMNS[one.prompt]) for one in asked) / 60
    return Planned(
        RoundKind.LOOSE, desk.day(), rows[0].tuning, minutes, asked, "", coming_back=False
    )


def _prompt(tune: Tune) -> tuple[Prompt, tuple[str, ...]]:
    """The prompt a tune is asked with, and what it asks for."""
    prompt = Prompt.HOW if prompt_strands(tune, Prompt.HOW) else Prompt.WHAT
    return prompt, prompt_strands(tune, prompt)


def _asked(desk: OpenFile, row: TuneRow) -> Asked:
    tune = desk.tune(row.uuid)
    prompt, strands = _prompt(tune)
    return Asked(
        tune=tune,
        prompt=prompt,
        strands=strands,
        chance=row.chance.chance,
        why="",
        starts=start_views(tune, desk.settings.usual),
        twins=twins_of(desk, row.uuid),
        tuning=row.tuning,
    )
