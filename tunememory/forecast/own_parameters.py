"""The player's own parameters: when they are fitted, whether they are used, how to go back.

Every try is kept with its date and what it rests on, whether it was taken or not, so that there
is at most one for every so many new checks, and every switch with its date, so that what was said
at any time can be worked out again. The focus of the plan is not fitted: now and then a look at how
sharp the player's memory is chooses it, and is kept in the same way.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tunememory.errors import NotDoneError
from tunememory.history import entry_of, whole_history
from tunememory.recall.fitting import ENOUGH_CHECKS, refit, sharpness
from tunememory.recall.replay import replayed, stored_beliefs
from tunememory.session import FOCUS, SWITCHED_TO, in_use, last_look
from tunememory.store.records import ParameterSet, new_identity

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from tunememory.recall.fitting import Refit
    from tunememory.session import Session


MORE = 0.25
"""Share of the checks there were at the last try that must be new for another: with many, a few
hundred more tell nothing new."""

WIDTH = 0.9
"""How often the range kept of a parameter holds it."""

EVEN, BEGIN, BOLD = 0.0, 1.0, 3.0
"""Focus (``gain.gain_parts``) for a memory that lasts, before it is known, and for a sharp one. The
one to begin with costs a memory that lasts nothing to speak of in the weeks until it is known."""

FIRST_LOOK = 70
"""Checks from which on it may show how sharp memory is."""

MORE_CHECKS = 0.1
"""Share of the checks at the last look that must be new for another."""

SURE, HARDLY = 6.0, 2.0
"""Sharpness above which to plan boldly, and to go on with it."""

DOUBTFUL, LEAST = 3.0, 110
"""Sharpness below which to plan evenly, with so many checks: a sharp memory shows itself early."""

PATIENCE = 300
"""Checks after which a memory that does not show itself sharp is taken to last."""

# The six numbers above were chosen on simulated players (tests/benchmarks).

LOOKED_AT = "looked_at_checks"
"""In the evidence of a look: checks there were."""


@dataclass(frozen=True, slots=True)
class InUse:
    """What chances are worked out with.

    Attributes:
        fitted_on: Practice day of the fit in use; ``None`` for the starting values.
        checks: Checks there were then.
        other: Whether there is another to go to: the starting values, or an accepted fit.
    """

    fitted_on: date | None
    checks: int
    other: bool

    @property
    def words(self) -> str:
        """Say it."""
        if self.fitted_on is None:
            return "the starting values"
        return f"fitted on {self.fitted_on.isoformat()} from {self.checks} checks"


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a try.

    Attributes:
        taken: Whether it is used from now on.
        checks: Checks in the file.
        held_out: Later levels that it was tried on.
        won: How much likelier each of them was under it, as a share; negative when less.
        ranges: What each parameter lies between, 9 times in 10.
    """

    taken: bool
    checks: int
    held_out: int
    won: float
    ranges: dict[str, tuple[float, float]]


def learning_is_due(session: Session) -> bool:
    """Whether there are new checks enough to learn from, by a look or by a fit."""
    return look_is_due(session) or fit_is_due(session)


def fit_is_due(session: Session) -> bool:
    """Whether there are new checks enough for a try."""
    kept = session.repertoire.parameters.all()
    before = max((_evidence(one).get("checks", 0) for one in kept), default=0)
    return session.repertoire.checks.count() - before >= max(ENOUGH_CHECKS, MORE * before)


def guessed_with(session: Session) -> InUse:
    """Return what is in use."""
    used = in_use(session.repertoire)
    if used is None:
        return InUse(None, 0, other=_last_taken(session) is not None)
    return InUse(session.day_of(used.made_at), _evidence(used).get("checks", 0), other=True)


def try_fit(session: Session) -> Tried:
    """Fit the player's parameters, and use them if they foretell the latest checks better.

    What is tried rests on the earlier checks alone; what is then used, on all of them. The file
    is held only while the result is written.

    Raises:
        NotDoneError: There are too few checks, or it could not be written.
    """
    count = session.repertoire.checks.count()
    if count < ENOUGH_CHECKS:
        raise NotDoneError(
            f"{count} checks are too few to learn from; from {ENOUGH_CHECKS} on it is worth a try"
        )
    session.changed_elsewhere()
    tunes, histories = whole_history(session)
    found = refit(list(map(entry_of, tunes)), histories, session.params)
    own = found.fitted.parameters
    made = ParameterSet(
        uuid=new_identity(),
        made_at=session.now(),
        numbers=json.dumps(own.as_dict()),
        evidence=json.dumps(_evidence_of(found, count)),
        active=found.better,
    )
    beliefs = {}
    if found.better:
        kept = session.repertoire
        beliefs = stored_beliefs(replayed(tunes, kept.checks.all(), kept.practices.all(), own))
    with session.repertoire.writing():
        stale = session.changed_elsewhere()
        version = session.repertoire.parameters.add(made)
        if found.better:
            # Checks that came meanwhile are not in these beliefs: then the next to read
            # the file works all out anew.
            session.repertoire.beliefs.save({} if stale else beliefs, parameters_version=version)
    session.reload()
    each = found.won / found.held_out if found.held_out else 0.0
    return Tried(found.better, count, found.held_out, float(np.expm1(each)), _ranges(found))


def guess_with_other(session: Session) -> InUse:
    """Go back to the starting values, or from them to the last accepted fit.

    Raises:
        NotDoneError: There is nothing to go to, or it could not be written.
    """
    used = in_use(session.repertoire)
    other = None if used is not None else _last_taken(session)
    if used is None and other is None:
        raise NotDoneError("the starting values are in use, and nothing was fitted yet")
    switch = _kept_note(session, {SWITCHED_TO: None if other is None else other.uuid})
    with session.repertoire.writing():
        session.repertoire.parameters.add(switch)
        session.repertoire.parameters.use(None if other is None else other.version)
    session.reload()
    # Reading the beliefs works them out anew and keeps them.
    session.beliefs.all()
    return guessed_with(session)


def uncertainty(session: Session) -> tuple[tuple[str, ...], NDArray[np.float64]] | None:
    """Return names and covariance of the fit in use; ``None`` for the starting values."""
    used = in_use(session.repertoire)
    if used is None:
        return None
    evidence = _evidence(used)
    return tuple(evidence["names"]), np.array(evidence["covariance"])


def _kept_note(session: Session, evidence: dict[str, Any]) -> ParameterSet:
    """A set without numbers, which only tells of something."""
    return ParameterSet(new_identity(), session.now(), "{}", json.dumps(evidence), active=False)


def _last_taken(session: Session) -> ParameterSet | None:
    taken = [one for one in session.repertoire.parameters.all() if _evidence(one).get("taken")]
    return taken[-1] if taken else None


def _evidence_of(found: Refit, checks: int) -> dict[str, Any]:
    return {
        "checks": checks,
        "tried_from_levels": found.tried.checks,
        "fitted_to_levels": found.fitted.checks,
        "held_out_levels": found.held_out,
        "log_likelihood_won": round(found.won, 4),
        "taken": found.better,
        "between_9_in_10": _ranges(found),
        "names": list(found.fitted.names),
        "covariance": np.round(found.fitted.covariance, 9).tolist(),
    }


def _ranges(found: Refit) -> dict[str, tuple[float, float]]:
    ends = found.fitted.ranges(WIDTH)
    return {name: (round(low, 4), round(high, 4)) for name, (low, high) in ends.items()}


def _evidence(kept: ParameterSet) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(kept.evidence)
    return found


def next_look(looked_at: int) -> float:
    """Checks from which on to look how sharp memory is, after a look at so many (0: none yet)."""
    return max(FIRST_LOOK, (1.0 + MORE_CHECKS) * looked_at)


def focus_for(sharp: float, checks: int, in_use: float) -> float:
    """Return the focus to plan with from now on.

    Args:
        sharp: Log odds for a sharp memory (``fitting.sharpness``).
        checks: Checks they rest on.
        in_use: Focus until now.
    """
    if sharp > (HARDLY if in_use == BOLD else SURE):
        return BOLD
    lasts = checks >= LEAST and (sharp < DOUBTFUL or checks > PATIENCE)
    return EVEN if lasts else BEGIN


def look_is_due(session: Session) -> bool:
    """Whether there are new checks enough to look how sharp memory is."""
    looked_at = last_look(session.repertoire).get(LOOKED_AT, 0)
    return session.repertoire.checks.count() >= next_look(looked_at)


def look(session: Session) -> float:
    """Look how sharp a memory the checks speak for, keep it, and return the focus to plan with.

    Raises:
        NotDoneError: It could not be written.
    """
    session.changed_elsewhere()
    count = session.repertoire.checks.count()
    tunes, histories = whole_history(session)
    found = sharpness(list(map(entry_of, tunes)), histories)
    focus = focus_for(found, count, session.params.focus)
    # The file calls the sharpness found by an older word.
    kept = _kept_note(session, {FOCUS: focus, LOOKED_AT: count, "leaning": round(found, 3)})
    with session.repertoire.writing():
        session.repertoire.parameters.add(kept)
    session.reload()
    return focus


def focus_words(focus: float) -> str:
    """Say how the plan is made."""
    if focus >= BOLD:
        return "the plan builds up the tunes that grow, and leaves the weakest for later"
    if focus > EVEN:
        return "the plan keeps all tunes, and builds up a little; your checks do not say more yet"
    return "the plan keeps all tunes as evenly as can be"
