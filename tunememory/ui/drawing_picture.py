"""The ways a start can be seen, and going from one to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.drawing_staff import staff_lines
from tunememory.ui.drawing_strings import strings_lines

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tunememory.service.views import StartView
    from tunememory.tunes.tune import Tune
    from tunememory.ui.text import Span

LETTERS, STAFF, STRINGS = DRAWN = ("letters", "staff", "strings")
"""Ways a start can be seen, in the order a key goes through them."""


def next_drawn(drawn: str, starts: Iterable[StartView]) -> str:
    """Return the way after ``drawn``; strings only where a start has some."""
    stringed = any(start.strings for start in starts)
    ways = [way for way in DRAWN if way != STRINGS or stringed]
    return ways[(ways.index(drawn) + 1) % len(ways)] if drawn in ways else LETTERS


def picture(start: StartView, tune: Tune, drawn: str, width: int) -> list[list[Span]]:
    """Draw a start of ``tune``; no lines for one in letters, or with nothing to be drawn."""
    if drawn == STAFF:
        return staff_lines(start, tune.key, start.start.metre_in(tune.metre), width)
    return strings_lines(start, width) if drawn == STRINGS else []
