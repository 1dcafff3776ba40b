"""The practice clock: counts while it runs, stands while it is paused."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


class Stopwatch:
    """Counts seconds from now on.

    Args:
        now: Seconds on any scale that only runs forward. The default one is not moved when the
            system's clock is set.
    """

    def __init__(self, now: Callable[[], float] | None = None) -> None:
        self._now = now or monotonic
        self._kept = 0.0
        self._since: float | None = self._now()
        self._told = 0.0

    @property
    def running(self) -> bool:
        """Whether it counts."""
        return self._since is not None

    @property
    def seconds(self) -> float:
        """Counted so far."""
        return self._kept + (self._now() - self._since if self._since is not None else 0.0)

    @property
    def untold_minutes(self) -> float:
        """Minutes counted since ``tell``."""
        return max(0.0, self.seconds - self._told) / 60.0

    def turn(self) -> None:
        """Pause, or go on."""
        if self._since is None:
            self._since = self._now()
        else:
            self._kept = self.seconds
            self._since = None

    def tell(self) -> None:
        """Take the minutes so far as written down."""
        self._told = self.seconds

    def take_back(self, minutes: float) -> None:
        """Take minutes as not written down after all."""
        self._told = max(0.0, self._told - minutes * 60.0)
