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
from tunememory.store.errors import RepertoireError
from tunememory.store.records import new_identity

if TYPE_CHECKING:
    from datetime import datetime

    from tunememory.recall.belief import TuneBelief
    from tunememory.session import OpenFile
    from tunememory.store.records import Practice


def record(desk: OpenFile, check: Check) -> None:
    """Write ``check`` and the tune's belief after it in one transaction, on disk on return.

    Raises:
        ServiceError: It could not be written, or the tune was taken out; nothing was written.
    """
    check = capped(check)
    if check.prompt is Prompt.JOIN:
        _record_join(desk, check)
        return
    try:
        with desk.repertoire.writing():
            _read_anew(desk, check.tune)
            before = desk.remembered.of(check.tune)
            if _comes_after(check.at, before):
                belief = after(before, event_of(check), desk.params)
            else:
                # A late or merged check: put in its place in the history.
                belief = _replayed(desk, check.tune, checks=[check])
            desk.repertoire.record(check, belief.to_bytes())
    except RepertoireError as error:
        raise NotDoneError(str(error)) from error
    desk.remembered.put(check.tune, belief)
    if check.day != desk.day():
        desk.forget("practice days")
    desk.last_met[check.tune] = max(check.at, desk.last_met.get(check.tune, check.at))


def withdraw(desk: OpenFile, check: Check) -> None:
    """Take back a check: it stays in the file, marked, and no longer counts.

    Raises:
        ServiceError: It could not be written.
    """
    try:
        with desk.repertoire.writing():
            desk.repertoire.withdraw(check.uuid, desk.now(), None)
            if check.prompt is Prompt.JOIN:
                joins.changed(desk)
                return
            belief = _replayed(desk, check.tune)
            _keep(desk, check.tune, belief)
    except RepertoireError as error:
        raise NotDoneError(str(error)) from error
    desk.remembered.put(check.tune, belief)
    desk.forget("last_met", "practice days")


def record_practice(desk: OpenFile, entry: Practice) -> None:
    """Write a practice entry and its tune's belief after it in one transaction.

    Raises:
        ServiceError: It could not be written; nothing was.
    """
    belief = None
    try:
        with desk.repertoire.writing():
            _read_anew(desk, entry.tune)
            if entry.tune:
                before = desk.remembered.of(entry.tune)
                if _comes_after(entry.at, before):
                    exposure = exposure_of(entry, desk.tune(entry.tune))
                    belief = after(before, exposure, desk.params)
                else:
                    belief = _replayed(desk, entry.tune, practices=[entry])
            desk.repertoire.add_practice(entry, belief.to_bytes() if belief else None)
    except RepertoireError as error:
        raise NotDoneError(str(error)) from error
    if belief is not None:
        desk.remembered.put(entry.tune, belief)
    desk.forget("last_practised", "practice days")


def withdraw_practice(desk: OpenFile, entry: Practice) -> None:
    """Take back a practice entry: it stays in the file, marked, and no longer counts.

    Raises:
        ServiceError: It could not be written.
    """
    belief = None
    try:
        with desk.repertoire.writing():
            desk.repertoire.withdraw_practice(entry.uuid, desk.now(), None)
            if entry.tune in desk.tunes:
                belief = _replayed(desk, entry.tune)
                _keep(desk, entry.tune, belief)
    except RepertoireError as error:
        raise NotDoneError(str(error)) from error
    if belief is not None:
        desk.remembered.put(entry.tune, belief)
    desk.forget("last_practised", "practice days")


def check_away(desk: OpenFile, uuid: str, levels: dict[str, Level], at: datetime) -> Check:
    """Record a check made away from the screen, for instance at the session.

    Raises:
        ServiceError: The moment lies in the future, or a strand is not the tune's.
    """
    tune = desk.tune(uuid)
    strands = strands_of(tune)
    for strand in levels:
        if strand not in strands:
            raise NotDoneError(
                f"{tune.title} has no strand {strand}: it has {', '.join(strands) or 'none yet'}"
            )
    if at > desk.now():
        raise NotDoneError("a check cannot lie in the future: give the time it was made")
    ordered = tuple((strand, levels[strand]) for strand in strands if strand in levels)
    prompt = Prompt.WHAT if set(levels) == {NAME} else Prompt.HOW
    check = Check(new_identity(), uuid, at, desk.day_of(at), RoundKind.AWAY, prompt, ordered)
    record(desk, check)
    return check


def _record_join(desk: OpenFile, check: Check) -> None:
    with desk.changing():
        _read_anew(desk, check.tune)
        joins.beliefs_of(desk)  # as they were before this check
        desk.repertoire.record(check, None)
        joins.asked(desk, check)


def _read_anew(desk: OpenFile, tune: str) -> None:
    """Read the file anew if another window wrote it, which may have taken the tune out.

    Raises:
        ServiceError: It has.
    """
    if desk.changed_elsewhere():
        desk.reload()
        if tune:
            desk.tune(tune)


def _comes_after(at: datetime, belief: TuneBelief) -> bool:
    """Whether ``at`` is later than all the belief has seen, so that one step is enough."""
    seen = belief.exposed_at[np.isfinite(belief.exposed_at)]
    return not belief.gains.any() or not len(seen) or bool(to_days(at) > seen.max())


def _replayed(
    desk: OpenFile, tune: str, checks: list[Check] | None = None,
    practices: list[Practice] | None = None,
) -> TuneBelief:  # fmt: skip
    """Belief of a tune from its whole history and what comes to it now."""
    kept = desk.repertoire
    every = [*kept.checks(tune), *(checks or ())]
    entries = [*kept.practices(tune), *(practices or ())]
    return replayed([desk.tune(tune)], every, entries, desk.params)[tune]


def _keep(desk: OpenFile, tune: str, belief: TuneBelief) -> None:
    desk.repertoire.save_beliefs({tune: belief.to_bytes()}, parameters_version=desk.params_version)
