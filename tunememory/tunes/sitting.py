"""The steps of a day's sitting."""

from __future__ import annotations

from enum import StrEnum


class At(StrEnum):
    """Step of a sitting the player has come to."""

    FIRST = "first"
    PRACTICE = "practice"
    LAST = "last"
    OVER = "over"
