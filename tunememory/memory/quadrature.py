"""Gauss-Hermite nodes for expectations under a normal distribution."""

from __future__ import annotations

import numpy as np


def normal_nodes(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return nodes and weights with sum w f(m + s z) ≈ E f(x), x normal with mean m and SD s.

    Exact for polynomials up to degree ``2 count - 1``. Rounded to 13 decimals: the nodes come
    from an eigenvalue routine whose last bits differ between machines, and beliefs may not.
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    weights = weights / np.sqrt(2.0 * np.pi)
    return (
        tuple(float(z) for z in np.round(nodes, 13)),
        tuple(float(w) for w in np.round(weights, 13)),
    )


NODES, WEIGHTS = normal_nodes(21)
"""Used wherever a belief is updated or shown."""
