"""The player's parameters as the file keeps them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tunememory.memory.parameters import PRIOR, Parameters

if TYPE_CHECKING:
    from tunememory.store.beliefs import ParameterSet
    from tunememory.store.repertoire import Repertoire

PRIOR_VERSION = 0
"""Version of the priors, which no file keeps."""


def in_use(repertoire: Repertoire) -> ParameterSet | None:
    """Return the fit in use, ``None`` when it is the priors."""
    return next((kept for kept in repertoire.parameters() if kept.active), None)


def active_parameters(repertoire: Repertoire) -> tuple[Parameters, int]:
    """Return the parameters in use and their version: the accepted fit, or the priors."""
    kept = in_use(repertoire)
    if kept is None:
        return PRIOR, PRIOR_VERSION
    return Parameters.from_dict(json.loads(kept.numbers)), kept.version
