"""Putting checks on disk and beliefs in step with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.service.errors import ServiceError
from tunememory.service.identities import new_identity
from tunememory.service.remembered import capped, replayed, step
from tunememory.store.errors import RepertoireError
from tunememory.tunes.check import NAME, Check, Level, Prompt, RoundKind, strands_of

if TYPE_CHECKING:
    from datetime import datetime

    from tunememory.memory.belief import TuneBelief
    from tunememory.service.open_file import OpenFile


def record(desk: OpenFile, check: Check) -> None:
    """Write ``check`` and the tune's belief after it in one transaction, on disk on return.

    Raises:
        ServiceError: It could not be written; nothing was.
    """
    check = capped(check)
    try:
        with desk.repertoire.writing():
            if desk.changed_elsewhere():
                desk.reload()
            before = desk.remembered.of(check.tune)
            belief = (
                step(before, check, desk.params)
                if _comes_after(check, before)
                else _replayed(desk, check)
            )
            desk.repertoire.record(check, belief.to_bytes())
    except RepertoireError as error:
        raise ServiceError(str(error)) from error
    desk.remembered.put(check.tune, belief)
    desk.last_met[check.tune] = max(check.at, desk.last_met.get(check.tune, check.at))


def withdraw(desk: OpenFile, check: Check) -> None:
    """Take back a check: it stays in the file, marked, and no longer counts.

    Raises:
        ServiceError: It could not be written.
    """
    try:
        with desk.repertoire.writing():
            desk.repertoire.withdraw(check.uuid, desk.now(), None)
            tune = desk.tune(check.tune)
            checks = desk.repertoire.checks(check.tune)
            belief = replayed([tune], checks, desk.params)[check.tune]
            desk.repertoire.save_beliefs(
                {check.tune: belief.to_bytes()}, parameters_version=desk.params_version
            )
    except RepertoireError as error:
        raise ServiceError(str(error)) from error
    desk.remembered.put(check.tune, belief)
    if checks:
        desk.last_met[check.tune] = max(past.at for past in checks)
    else:
        desk.last_met.pop(check.tune, None)


def check_away(desk: OpenFile, uuid: str, levels: dict[str, Level], at: datetime) -> Check:
    """Record a check made away from the screen, for instance at the session.

    Raises:
        ServiceError: The moment lies in the future, or a strand is not the tune's.
    """
    tune = desk.tune(uuid)
    strands = strands_of(tune)
    for strand in levels:
        if strand not in strands:
            raise ServiceError(
                f"{tune.title} has no strand {strand}: it has {', '.join(strands) or 'none yet'}"
            )
    if at > desk.now():
        raise ServiceError("a check cannot lie in the future: give the time it was made")
    ordered = tuple((strand, levels[strand]) for strand in strands if strand in levels)
    prompt = Prompt.WHAT if set(levels) == {NAME} else Prompt.HOW
    check = Check(new_identity(), uuid, at, desk.day_of(at), RoundKind.AWAY, prompt, ordered)
    record(desk, check)
    return check


def _comes_after(check: Check, belief: TuneBelief) -> bool:
    """Whether ``check`` is later than all the belief has seen, so that one step is enough."""
    seen = belief.exposed_at[np.isfinite(belief.exposed_at)]
    return not belief.checks.any() or not len(seen) or bool(to_days(check.at) > seen.max())


def _replayed(desk: OpenFile, check: Check) -> TuneBelief:
    """Belief from the whole history with ``check`` put in its place (a late or merged check)."""
    checks = [*desk.repertoire.checks(check.tune), check]
    checks.sort(key=lambda past: (past.at, past.uuid))
    return replayed([desk.tune(check.tune)], checks, desk.params)[check.tune]
