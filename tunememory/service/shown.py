"""Starts in every form they are shown in."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.service.views import StartView
from tunememory.tunes.fingering import COMMON_BAR
from tunememory.tunes.instruments import FIDDLE, Instrument, on_strings, reach_told, strings_for
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.shown import bar_starts, letters_of, steps_of

if TYPE_CHECKING:
    from tunememory.service.settings import Settings
    from tunememory.tunes.key import Key
    from tunememory.tunes.tune import Start, Tune
    from tunememory.tunes.tuning import Tuning


def start_views(tune: Tune, settings: Settings) -> tuple[StartView, ...]:
    """Return every start of ``tune`` as the player's instrument has it, in the tune's tuning."""
    tuning = strings_for(tune.tuning, settings.usual)
    return tuple(
        start_view(start, tune.key, tune.metre, tuning, settings.on) for start in tune.starts
    )


@lru_cache(maxsize=2_000)
def start_view(
    start: Start, key: Key | None, metre: str, tuning: Tuning, instrument: Instrument = FIDDLE
) -> StartView:
    """Return one start in letters, steps and fingers, aligned note by note."""
    own_key = start.key or key
    metre = start.metre_in(metre)
    letters = letters_of(start.notes, own_key)
    strings = on_strings(start.notes, tuning, bar_quarters(metre) or COMMON_BAR, instrument)
    return StartView(
        part=start.part,
        start=start,
        letters=letters,
        steps=steps_of(start.notes, own_key),
        fingers=strings.names if strings else (),
        bars=bar_starts(start.notes, start.pickup, metre),
        doubt=start.doubt,
        strings=strings,
        beyond=reach_told(start.notes, letters, tuning, instrument),
    )
