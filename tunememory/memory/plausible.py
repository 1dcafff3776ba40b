"""Parameters that a player may well have, drawn about those in use."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.fitting import PRIORS, from_working, to_working

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.memory.arrays import Floats
    from tunememory.memory.parameters import Parameters


def plausible(
    params: Parameters,
    count: int,
    rng: np.random.Generator,
    names: Sequence[str] = tuple(PRIORS),
    covariance: Floats | None = None,
) -> list[Parameters]:
    """Draw parameters from what is believed of them.

    Args:
        params: Parameters in use, the middle of the draws.
        count: How many.
        rng: Source of chance.
        names: Which are uncertain; the others stay.
        covariance: (n, n) on the working scales of a fit; the widths of the priors when ``None``.
    """
    if covariance is None:
        covariance = np.diag([PRIORS[name].sd ** 2 for name in names])
    middle = to_working(params, names)
    drawn = rng.multivariate_normal(middle, covariance, size=count, method="cholesky")
    return [from_working(values, names, params) for values in drawn]
