"""What a check did to the chance of what it asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.memory.belief import stack
from tunememory.service import recording
from tunememory.service.chance_words import Rated
from tunememory.service.chances import weakest_chances

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from tunememory.memory.belief import TuneBelief
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.check import Level

_DAY, _WEEK = 1.0, 7.0


def rated(desk: OpenFile, strands: Iterable[str], was: TuneBelief, now: TuneBelief) -> Rated:
    """Return what a check of ``strands`` did that made the belief ``now`` of the one before.

    Of several strands the weakest counts.
    """
    strands, at = tuple(strands), desk.now_days()
    moments = ((was, at), (now, at + _DAY), (now, at + _WEEK))
    return Rated(
        *(
            weakest_chances(stack([belief]), strands, moment, desk.params)[0]
            for belief, moment in moments
        )
    )


def check_away(desk: OpenFile, uuid: str, levels: dict[str, Level], at: datetime) -> Rated:
    """Record a check made away from the screen, and return what it did as of this moment.

    Raises:
        ServiceError: As for ``recording.check_away``.
    """
    desk.tune(uuid)
    was = desk.remembered.of(uuid)
    recording.check_away(desk, uuid, levels, at)
    return rated(desk, levels, was, desk.remembered.of(uuid))
