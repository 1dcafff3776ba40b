from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.prompts import asked_of
from tunememory.rounds.candidates import Candidates

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["asked_of", "candidates"]

NOW = 9000.0


@pytest.fixture
def candidates() -> Callable[..., Candidates]:
    """Makes a repertoire of ``count`` tunes, all alike but for what is overruled."""

    def make(count: int = 12, **overruled: object) -> Candidates:
        whole = Candidates(
            uuids=tuple(f"t{n:03}" for n in range(count)),
            tuning=("GDAE",) * count,
            root=np.arange(count, dtype=np.int64) % 5,
            kind=("reel",) * count,
            askable=np.ones((count, 2), dtype=bool),
            learning=np.zeros(count, dtype=bool),
            new=np.zeros(count, dtype=bool),
            favourite=np.zeros(count, dtype=bool),
            chance=np.linspace(0.2, 0.9, count),
            value=np.stack([np.linspace(30.0, 10.0, count), np.full(count, 1.0)], axis=1),
            asked_today=np.zeros(count, dtype=bool),
            put_off=np.zeros(count, dtype=bool),
            last_met=np.full(count, NOW - 10.0),
            added=np.arange(count, dtype=np.int64),
        )
        return replace(whole, **overruled)  # type: ignore[arg-type]

    return make
