"""The player's parameters as the file keeps them."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from tunememory.memory.parameters import PRIOR, Parameters

if TYPE_CHECKING:
    from tunememory.store.beliefs import ParameterSet
    from tunememory.store.repertoire import Repertoire

PRIOR_VERSION = 0
"""Version of the priors, which no file keeps."""

SWITCHED_TO = "switched_to"
"""In the evidence of a set that only tells of a switch: the identity of what was gone back to,
``null`` for the priors."""

FOCUS = "focus"
"""In the evidence of a set that only tells how boldly to plan: the focus found."""


def in_use(repertoire: Repertoire) -> ParameterSet | None:
    """Return the fit in use, ``None`` when it is the priors."""
    return next((kept for kept in repertoire.parameters() if kept.active), None)


def active_parameters(repertoire: Repertoire) -> tuple[Parameters, int]:
    """Return the parameters in use and their version: the accepted fit, or the priors."""
    kept = in_use(repertoire)
    focus = last_look(repertoire).get(FOCUS, PRIOR.focus)
    if kept is None:
        return replace(PRIOR, focus=focus), PRIOR_VERSION
    fitted = Parameters.from_dict(json.loads(kept.numbers))
    return replace(fitted, focus=focus), kept.version


def last_look(repertoire: Repertoire) -> dict[str, Any]:
    """Return the evidence of the last look at how boldly to plan; empty if there was none."""
    looks = [one for one in repertoire.parameters() if FOCUS in json.loads(one.evidence)]
    if not looks:
        return {}
    last: dict[str, Any] = json.loads(max(looks, key=lambda one: one.made_at).evidence)
    return last


def in_force(repertoire: Repertoire) -> list[tuple[datetime, Parameters]]:
    """Return what was in use when: from which moment on, and what, oldest first.

    It begins with the priors, at the beginning of time. What another copy of the file used
    before it was merged counts as used here.
    """
    found = [(datetime.min.replace(tzinfo=UTC), PRIOR)]
    fits: dict[str | None, Parameters] = {None: PRIOR}
    for kept in sorted(repertoire.parameters(), key=lambda kept: kept.made_at):
        evidence = json.loads(kept.evidence)
        if evidence.get("taken"):
            fits[kept.uuid] = Parameters.from_dict(json.loads(kept.numbers))
            found.append((kept.made_at, fits[kept.uuid]))
        elif evidence.get(SWITCHED_TO, "") in fits:
            found.append((kept.made_at, fits[evidence[SWITCHED_TO]]))
    return found
