"""The part of the desk that is about the guesses themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.session import OpenFile

if TYPE_CHECKING:
    from collections.abc import Callable

    from tunememory.forecast.fitting import InUse
    from tunememory.forecast.how_well import HowWell
    from tunememory.forecast.year import YearAhead


# ruff: noqa: PLC0415 - each part loads when it is first asked for, so that start-up stays quick


class GuessingDesk(OpenFile):
    """How well we guess, the year ahead, and what guesses are made with."""

    def how_well(self) -> HowWell:
        """Return what was said against what came; a while with a long history."""
        from tunememory.forecast import how_well

        return how_well.how_well(self)

    def year_ahead(
        self,
        minutes: float,
        tunes: int | None,
        new_a_month: float,
        progress: Callable[[float], None],
    ) -> YearAhead:
        """Look a year ahead; some seconds. Arguments as ``looking_ahead.year_ahead``.

        Raises:
            ServiceError: A number is out of its range, or there are no tunes to start from.
        """
        from tunememory.forecast import year

        return year.year_ahead(self, minutes, tunes, new_a_month, progress)

    def guessed_with(self) -> InUse:
        """Return what chances are worked out with."""
        from tunememory.forecast import fitting

        return fitting.state_of(self)

    def guess_with_other(self) -> InUse:
        """Go back to the starting values, or from them to the last accepted fit.

        Raises:
            ServiceError: There is nothing to go to, or it could not be written.
        """
        from tunememory.forecast import fitting

        return fitting.use_other(self)

    def fit_is_due(self) -> bool:
        """Whether there are new checks enough to learn from: what memory is like, or its kind."""
        from tunememory.forecast import fitting

        return fitting.focus_is_due(self) or fitting.is_due(self)
