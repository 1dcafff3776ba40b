"""What it is worth to ask a tune now."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

FAVOURITE_WEIGHT = 1.5
LEARNING_WEIGHT = 1.3
"""How much more a check of such a tune counts (own choice)."""


def prompt_values(
    strand_values: NDArray[np.float64],
    how_strands: NDArray[np.bool_],
    what_strands: NDArray[np.bool_],
    favourite: NDArray[np.bool_],
    learning: NDArray[np.bool_],
    dated: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """Return the worth of each prompt: the strands' values summed and weighted.

    Args:
        strand_values: (T, F) days callable won by checking each strand, from the memory model.
        how_strands: (T, F) strands that "How does it go?" asks for.
        what_strands: (T, F) strands that "What's this one?" asks for.
        favourite: (T,) favourites.
        learning: (T,) tunes in learning.
        dated: (T,) factors of the dates coming (``dates.date_weights``); ``None`` for none.

    Returns:
        (T, 2) array, How in column 0 and What in column 1; 0 where nothing is asked.
    """
    weight = np.where(favourite, FAVOURITE_WEIGHT, 1.0) * np.where(learning, LEARNING_WEIGHT, 1.0)
    if dated is not None:
        weight = weight * dated
    how = np.where(how_strands, strand_values, 0.0).sum(axis=1)
    what = np.where(what_strands, strand_values, 0.0).sum(axis=1)
    values: NDArray[np.float64] = np.stack([how, what], axis=1) * weight[:, None]
    return values
