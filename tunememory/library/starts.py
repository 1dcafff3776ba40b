"""Starts in every form they are shown in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.music.fingering import (
    FIDDLE,
    Instrument,
    on_strings,
    reach_told,
    strings_for,
)
from tunememory.music.forms import bar_starts, letters_of, steps_of

if TYPE_CHECKING:
    from tunememory.music.fingering import OnStrings
    from tunememory.music.key import Key
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Start, Tune
    from tunememory.settings import Settings


@dataclass(frozen=True, slots=True)
class StartView:
    """One start in every form it is shown in; rows are aligned note by note.

    Attributes:
        letters: ABC letters, one string a note.
        steps: Scale steps, one string a note.
        fingers: String and finger, one string a note (``"A1"``), on a fretted instrument string
            and fret; ``"–"`` out of reach. Empty where there are no strings.
        bars: Indices of notes that begin a bar (a bar line stands before them).
        strings: Where it lies on the strings; ``None`` where there are none.
        beyond: What of it lies beyond the instrument, in words.
    """

    part: str
    start: Start
    letters: tuple[str, ...]
    steps: tuple[str, ...]
    fingers: tuple[str, ...]
    bars: tuple[int, ...]
    doubt: str = ""
    strings: OnStrings | None = None
    beyond: str = ""


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
    strings = on_strings(start.notes, tuning, metre, instrument)
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
