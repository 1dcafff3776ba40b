"""What is on the screen before the repertoire is opened."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.service.today_text import from_text, made_as
from tunememory.store.glance import glance
from tunememory.ui.theme import CHOICES, LAMP_LIGHT

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from tunememory.clock import Clock
    from tunememory.service.today_view import TodayView


class FirstPicture(NamedTuple):
    """What can be shown at once.

    Attributes:
        today: The practice day.
        light: The theme.
        pick_up: The pick-up line of an earlier day, with its day.
        view: The day as it was worked out in advance; nothing has changed since.
    """

    today: date
    light: str = LAMP_LIGHT
    pick_up: tuple[date, str] | None = None
    view: TodayView | None = None


def first_picture(path: Path, clock: Clock) -> FirstPicture | None:
    """Look at the file, or return ``None`` when it cannot be read at a glance."""
    found = glance(path, clock, made_as(clock))
    if found is None:
        return None
    light = found.theme.strip('"')
    view = from_text(found.prepared) if found.prepared else None
    return FirstPicture(
        found.day,
        light if light in CHOICES else LAMP_LIGHT,
        found.pick_up,
        view if view is not None and view.day == found.day else None,
    )
