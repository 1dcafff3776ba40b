"""Starts in every form they are shown in."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.service.views import StartView
from tunememory.tunes.shown import bar_starts, fingers_of, letters_of, steps_of

if TYPE_CHECKING:
    from tunememory.tunes.key import Key
    from tunememory.tunes.tune import Start, Tune
    from tunememory.tunes.tuning import Tuning


def start_views(tune: Tune, usual: Tuning) -> tuple[StartView, ...]:
    """Return every start of ``tune``, fingered for its tuning."""
    tuning = tune.tuning or usual
    return tuple(start_view(start, tune.key, tune.metre, tuning) for start in tune.starts)


@lru_cache(maxsize=2_000)
def start_view(start: Start, key: Key | None, metre: str, tuning: Tuning) -> StartView:
    """Return one start in letters, steps and fingers, aligned note by note."""
    own_key = start.key or key
    return StartView(
        part=start.part,
        start=start,
        letters=letters_of(start.notes, own_key),
        steps=steps_of(start.notes, own_key),
        fingers=fingers_of(start.notes, tuning),
        bars=bar_starts(start.notes, start.pickup, metre),
        doubt=start.doubt,
    )
