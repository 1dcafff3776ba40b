"""Rounds that the player picked: a tune, some tunes, a set."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory.service import joins, sets
from tunememory.service.asking import COLUMNS
from tunememory.service.errors import ServiceError
from tunememory.service.overview import rows_of
from tunememory.service.rounds import pace_of
from tunememory.service.shown import start_views
from tunememory.service.twins import twins_of
from tunememory.service.views import Asked, Planned
from tunememory.tunes.check import Prompt, RoundKind, join_to, prompt_strands
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
    return _round(desk, [_asked(desk, row) for row in rows], rows[0].tuning)


def plan_set(desk: OpenFile, uuid: str) -> Planned:
    """Plan a loose round of a set as it is played: its first tune, then every join in order.

    Raises:
        ServiceError: The set is gone, or nothing can be asked of it.
    """
    tunes = sets.view(desk, uuid).tunes
    if not tunes:
        raise ServiceError("its tunes were all taken out")
    joined = [
        (first.tune, second.tune) for first, second in pairwise(tunes) if first.tune != second.tune
    ]
    rows = rows_of(desk, [tune.tune for tune in tunes])
    asked = [_asked(desk, rows[0])] if _prompt(desk.tune(tunes[0].tune))[1] else []
    asked += [_asked_join(desk, join) for join in dict.fromkeys(joined)]
    return _round(desk, asked, rows[0].tuning)


def _round(desk: OpenFile, asked: Sequence[Asked], tuning: str) -> Planned:
    pace = pace_of(desk)
    minutes = sum(pace.of(COLUMNS[one.prompt]) for one in asked) / 60
    return Planned(
        RoundKind.LOOSE, desk.day(), tuning, minutes, tuple(asked), "", coming_back=False
    )


def _asked_join(desk: OpenFile, join: joins.Join) -> Asked:
    (row,) = rows_of(desk, [join[1]])
    return replace(
        _asked(desk, row),
        prompt=Prompt.JOIN,
        strands=(join_to(join[1]),),
        chance=joins.chance_of(desk, join),
        after=desk.tune(join[0]),
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
        starts=start_views(tune, desk.settings),
        twins=twins_of(desk, row.uuid),
        tuning=row.tuning,
    )
