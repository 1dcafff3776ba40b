"""A population of strands as the memory model sees it: one belief stands for many people.

Levels are drawn from what the model itself foretells, so the mean chance of the population is
the model's own statement and nothing is put in by hand.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tunememory.recall.belief import Beliefs
from tunememory.recall.forgetting import chance, elapsed_days, felt_days, widening
from tunememory.recall.parameters import Parameters
from tunememory.recall.update import EventRows, advance, posterior


def one_strand(
    mean: float, variance: float, people: int, exposed_at: float = 0.0, gained_day: int = 0
) -> Beliefs:
    """The same belief about ``people`` strands; a ``gained_day`` above 0 has had its growth."""
    shape = (people, 1)
    return Beliefs(
        mean=np.full(shape, mean),
        cov=np.full((people, 1, 1), variance),
        exposed_at=np.full(shape, exposed_at),
        gained_day=np.full(shape, gained_day, dtype=np.int64),
        gains=np.full(shape, 1 if gained_day else 0, dtype=np.int64),
        checks=np.zeros(shape, dtype=np.int64),
        present=np.ones(shape, dtype=np.bool_),
    )


def level_chances(beliefs: Beliefs, at: float, params: Parameters) -> np.ndarray:
    """(T, F, 4) chances of levels 1 to 4, as the Bayes step has them; nan where absent."""
    elapsed = elapsed_days(beliefs.exposed_at, at)
    given = [beliefs.mean, beliefs.variance + widening(elapsed, params)]
    given.append(np.log(felt_days(elapsed, params)))
    mean, variance, log_time = (each.ravel() for each in given)
    said = [
        posterior(mean, variance, log_time, np.full(mean.shape, y), params)[0] for y in range(4)
    ]
    levels = np.stack(said, axis=-1).reshape(*beliefs.mean.shape, 4)
    return np.where(beliefs.present[..., None], levels, np.nan)


@dataclass
class Population:
    """Strands, what is known of them, and the chance that decides their levels."""

    beliefs: Beliefs
    params: Parameters
    rng: np.random.Generator

    def recall(self, at: float) -> float:
        """Mean chance of a level of 3 or 4."""
        return float(chance(self.beliefs, at, self.params).mean())

    def check(self, at: float, who: np.ndarray | None = None) -> np.ndarray:
        """Ask those in ``who`` (all by default), show the answer; (people,) levels, 0 unasked."""
        shares = level_chances(self.beliefs, at, self.params)[:, 0, :].cumsum(axis=1)
        level = 1 + (self.rng.random((len(shares), 1)) > shares[:, :3]).sum(axis=1)
        if who is not None:
            level = np.where(who, level, 0)
        advance(self.beliefs, self._rows(at, level, level < 0, 0.0), self.params)
        return level

    def expose(self, at: float, who: np.ndarray, minutes: float = 1.0) -> None:
        """Show the answer without asking."""
        level = np.zeros(len(who), dtype=np.int64)
        advance(self.beliefs, self._rows(at, level, who, minutes), self.params)

    def _rows(self, at: float, level: np.ndarray, exposed: np.ndarray, minutes: float) -> EventRows:
        people = len(level)
        return EventRows(
            at=np.full(people, at),
            day=np.full(people, 1 + int(at), dtype=np.int64),
            level=level[:, None],
            exposed=exposed[:, None],
            minutes=np.full(people, minutes),
        )
