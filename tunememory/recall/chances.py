"""Beliefs put into what the player is shown: chances of strands, chances of starting a tune."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from tunememory.recall.belief import in_blocks
from tunememory.recall.check import (
    FIRST_START_COLUMN,
    KEY_COLUMN,
    NAME_COLUMN,
    column_of,
    strand_of,
    strands_of,
)
from tunememory.recall.forgetting import chance, chance_range
from tunememory.recall.state import Chance, State, state_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from tunememory.music.tune import Tune
    from tunememory.recall.belief import Beliefs
    from tunememory.recall.forgetting import Bools, Floats, Ints
    from tunememory.recall.parameters import Parameters


def opening_columns(chance: Floats, present: Bools) -> Ints:
    """Return for each tune the column of the strand that decides whether it can be started.

    A tune can be started when its first part's start comes in the right key, so the weaker of the
    two decides; a tune with neither goes by its name.

    Args:
        chance: (T, F) chances of every strand, nan where there is none.
        present: (T, F) whether the tune has the strand.

    Returns:
        (T,) columns, -1 for a tune with nothing to ask.
    """
    parts = present.copy()
    parts[:, :FIRST_START_COLUMN] = False
    first = np.where(parts.any(axis=1), parts.argmax(axis=1), -1)
    by_start = np.where(first >= 0, chance[np.arange(len(chance)), first], np.nan)
    by_key = chance[:, KEY_COLUMN]
    opening = np.where(
        np.nan_to_num(by_key, nan=2.0) < np.nan_to_num(by_start, nan=2.0), KEY_COLUMN, first
    )
    opening = np.where((opening < 0) & present[:, NAME_COLUMN], NAME_COLUMN, opening)
    return opening.astype(np.int64)


def start_chances(chance: Floats, present: Bools) -> Floats:
    """Return (T,) chances of starting each tune; arguments as for ``opening_columns``."""
    return _start_chances(chance, opening_columns(chance, present))


def _start_chances(chance: Floats, opening: Ints) -> Floats:
    found: Floats = np.where(opening >= 0, chance[np.arange(len(chance)), opening], 0.0)
    return found


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances of every strand of T tunes at one moment.

    Attributes:
        chance: (T, F) chance of a level of 3 or 4, nan where there is no strand.
        low: (T, F) lower end of the range that holds it 8 times in 10.
        high: (T, F) upper end.
        met: (T, F) whether the strand was ever asked.
        asked: (T,) whether the tune was ever asked.
        opening: (T,) column that decides whether the tune can be started, -1 for none.
    """

    chance: Floats
    low: Floats
    high: Floats
    met: Bools
    asked: Bools
    opening: Ints

    @property
    def starting(self) -> Floats:
        """(T,) chance of starting each tune, 0 where there is nothing to ask."""
        return _start_chances(self.chance, self.opening)


SETTLED_DAYS = 1.0
"""Days after the last meeting from which a chance is worth telling (own choice)."""


def chances_of(beliefs: Beliefs, at: float, params: Parameters) -> Chances:
    """Return the chances of all tunes at ``at`` (days on the model's scale).

    What was met within the last day is shown as it will be a day after: with the answer just
    seen every tune would come, and nothing would be told by saying so.
    """
    beliefs = _settled(beliefs, at)
    shown, low, high = in_blocks(
        beliefs,
        3,
        lambda some: (chance(some, at, params), *chance_range(some, at, params)),
    )
    opening = opening_columns(shown, beliefs.present)
    met = beliefs.checks > 0
    return Chances(shown, low, high, met, beliefs.checks.sum(axis=1) > 0, opening)


def weakest_chances(
    beliefs: Beliefs, strands: Iterable[str], at: float | Floats, params: Parameters
) -> list[float]:
    """Return the chance of each tune's weakest strand among ``strands``, as ``chances_of`` has it.

    Strands a tune does not have (it may have been edited since it was asked for) are passed over;
    where none is left the chance is 0. ``at`` may be (T, 1), of each tune its own.
    """
    tunes, held = beliefs.mean.shape
    columns = [column for column in map(column_of, strands) if column < held]
    if not columns:
        return [0.0] * tunes
    shown = chance(_settled(beliefs, at), at, params)[:, columns]
    found: list[float] = np.nan_to_num(np.fmin.reduce(shown, axis=1)).tolist()
    return found


def _settled(beliefs: Beliefs, at: float | Floats) -> Beliefs:
    return replace(beliefs, exposed_at=np.minimum(beliefs.exposed_at, at - SETTLED_DAYS))


def chance_at(chances: Chances, row: int, column: int, last: datetime | None) -> Chance:
    """Return one strand's chance as shown; column -1 is a tune with nothing to ask."""
    if column < 0:
        return Chance(0.0, 0.0, 1.0, State.NOT_ASKED, last)
    value = float(chances.chance[row, column])
    low, high = float(chances.low[row, column]), float(chances.high[row, column])
    state = state_of(value) if chances.asked[row] else State.NOT_ASKED
    return Chance(value, low, high, state, last)


def weakest(chances: Chances, *, names: bool = True) -> list[int]:
    """Column of each tune's strand with the lowest chance, -1 when it has none.

    Of a tune that was asked only the strands that were: what was never there cannot fade.
    ``names=False`` leaves names out, where telling of one would give it away.
    """
    left_out = chances.asked[:, None] & ~chances.met
    values = np.where(left_out, 2.0, np.nan_to_num(chances.chance, nan=2.0))
    if not names:
        values[:, NAME_COLUMN] = 2.0
    columns = values.argmin(axis=1)
    found: list[int] = np.where(values.min(axis=1) <= 1.0, columns, -1).tolist()
    return found


def strand_name(column: int) -> str:
    """Strand of a column, empty for -1."""
    return strand_of(column) if column >= 0 else ""


@dataclass(frozen=True, slots=True)
class StrandView:
    """One strand and how well it is remembered."""

    strand: str
    chance: Chance


def strand_views(
    chances: Chances, row: int, tune: Tune, last: datetime | None
) -> tuple[StrandView, ...]:
    """Return every strand of a tune, in the order they are asked."""
    return tuple(
        StrandView(strand, chance_at(chances, row, column_of(strand), last))
        for strand in strands_of(tune)
    )
