"""Putting checks and practice on disk, and beliefs in step with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tunememory.clock import to_days
from tunememory.errors import NotDoneError
from tunememory.history import joins
from tunememory.recall.check import NAME, Check, Level, Prompt, RoundKind, strands_of
from tunememory.recall.replay import capped, event_of, exposure_of, replayed
from tunememory.recall.update import after
from tunememory.session import About
from tunememory.store.records import new_identity

if TYPE_CHECKING:
    from datetime import datetime

    from tunememory.recall.belief import TuneBelief
    from tunememory.recall.check import Practice
    from tunememory.session import Session


def record(session: Session, check: Check) -> None:
    """Write ``check`` and the tune's belief after it in one transaction, on disk on return.

    Raises:
        NotDoneError: It could not be written, or the tune was taken out; nothing was written.
    """
    check = capped(check)
    if check.prompt is Prompt.JOIN:
        _record_join(session, check)
        return
    with session.repertoire.writing():
        _read_anew(session, check.tune)
        before = session.beliefs.of(check.tune)
        if _comes_after(check.at, before):
            belief = after(before, event_of(check), session.params)
        else:
            # A late or merged check: put in its place in the history.
            belief = _replayed(session, check.tune, checks=[check])
        session.repertoire.checks.record(check, belief.to_bytes())
    session.beliefs.put(check.tune, belief)
    if check.day != session.day():
        session.changed(About.CHECKS)
    session.last_met[check.tune] = max(check.at, session.last_met.get(check.tune, check.at))


def withdraw(session: Session, check: Check) -> None:
    """Take back a check: it stays in the file, marked, and no longer counts.

    Raises:
        NotDoneError: It could not be written.
    """
    with session.repertoire.writing():
        session.repertoire.checks.withdraw(check.uuid, session.now(), None)
        if check.prompt is Prompt.JOIN:
            session.changed(About.CHANGES)
            return
        belief = _replayed(session, check.tune)
        _keep(session, check.tune, belief)
    session.beliefs.put(check.tune, belief)
    session.changed(About.CHECKS)


def record_practice(session: Session, entry: Practice) -> None:
    """Write a practice entry and its tune's belief after it in one transaction.

    Raises:
        NotDoneError: It could not be written; nothing was.
    """
    belief = None
    with session.repertoire.writing():
        _read_anew(session, entry.tune)
        if entry.tune:
            before = session.beliefs.of(entry.tune)
            if _comes_after(entry.at, before):
                exposure = exposure_of(entry, session.tune(entry.tune))
                belief = after(before, exposure, session.params)
            else:
                belief = _replayed(session, entry.tune, practices=[entry])
        session.repertoire.practices.record(entry, belief.to_bytes() if belief else None)
    if belief is not None:
        session.beliefs.put(entry.tune, belief)
    session.changed(About.PRACTICE)


def withdraw_practice(session: Session, entry: Practice) -> None:
    """Take back a practice entry: it stays in the file, marked, and no longer counts.

    Raises:
        NotDoneError: It could not be written.
    """
    belief = None
    with session.repertoire.writing():
        session.repertoire.practices.withdraw(entry.uuid, session.now(), None)
        if entry.tune in session.tunes:
            belief = _replayed(session, entry.tune)
            _keep(session, entry.tune, belief)
    if belief is not None:
        session.beliefs.put(entry.tune, belief)
    session.changed(About.PRACTICE)


def record_check_away(session: Session, uuid: str, levels: dict[str, Level], at: datetime) -> Check:
    """Record a check made away from the screen, for instance at the session.

    Raises:
        NotDoneError: The moment lies in the future, or a strand is not the tune's.
    """
    tune = session.tune(uuid)
    strands = strands_of(tune)
    for strand in levels:
        if strand not in strands:
            raise NotDoneError(
                f"{tune.title} has no strand {strand}: it has {', '.join(strands) or 'none yet'}"
            )
    if at > session.now():
        raise NotDoneError("a check cannot lie in the future: give the time it was made")
    ordered = tuple((strand, levels[strand]) for strand in strands if strand in levels)
    prompt = Prompt.WHAT if set(levels) == {NAME} else Prompt.HOW
    check = Check(new_identity(), uuid, at, session.day_of(at), RoundKind.AWAY, prompt, ordered)
    record(session, check)
    return check


def _record_join(session: Session, check: Check) -> None:
    with session.changing():
        _read_anew(session, check.tune)
        joins.beliefs_of(session)  # as they were before this check
        session.repertoire.checks.record(check, None)
        joins.keep_in_step(session, check)


def _read_anew(session: Session, tune: str) -> None:
    """Read the file anew if another window wrote it, which may have taken the tune out.

    Raises:
        NotDoneError: It has.
    """
    if session.changed_elsewhere():
        session.reload()
        if tune:
            session.tune(tune)


def _comes_after(at: datetime, belief: TuneBelief) -> bool:
    """Whether ``at`` is later than all the belief has seen, so that one step is enough."""
    seen = belief.exposed_at[np.isfinite(belief.exposed_at)]
    return not belief.gains.any() or not len(seen) or bool(to_days(at) > seen.max())


def _replayed(
    session: Session, tune: str, checks: list[Check] | None = None,
    practices: list[Practice] | None = None,
) -> TuneBelief:  # fmt: skip
    """Belief of a tune from its whole history and what comes to it now."""
    kept = session.repertoire
    every = [*kept.checks.all(tune), *(checks or ())]
    entries = [*kept.practices.all(tune), *(practices or ())]
    return replayed([session.tune(tune)], every, entries, session.params)[tune]


def _keep(session: Session, tune: str, belief: TuneBelief) -> None:
    session.repertoire.beliefs.save(
        {tune: belief.to_bytes()}, parameters_version=session.params_version
    )
