"""What happens to a tune, as the memory model sees it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CheckEvent:
    """One answered prompt.

    Attributes:
        at: Days since the epoch.
        day: Ordinal of the practice day.
        levels: ``(column, level)`` pairs, level 1 to 4; a prompt rated as a whole gives every
            strand it asked for the same level.
        hints: Steps of hint shown; any hint caps the levels at 2.
        cold: First or loose round: nothing of the tune was heard just before.
    """

    at: float
    day: int
    levels: tuple[tuple[int, int], ...]
    hints: int = 0
    cold: bool = True


@dataclass(frozen=True, slots=True)
class ExposureEvent:
    """Strands played, heard or read without a level.

    Attributes:
        at: Days since the epoch, at its end.
        day: Ordinal of the practice day.
        columns: Strands concerned.
        minutes: How long, 0 or more; under a minute counts in proportion.
    """

    at: float
    day: int
    columns: tuple[int, ...]
    minutes: float


Event = CheckEvent | ExposureEvent
