"""A day's sitting: first round, practice, last round, and the line to tomorrow."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.service import agenda
from tunememory.service.day_views import SittingView
from tunememory.service.errors import ServiceError
from tunememory.service.identities import new_identity
from tunememory.service.recording import record_practice
from tunememory.service.rounds import chosen, moment
from tunememory.service.spent import minutes_of_day
from tunememory.service.steps import steps_of
from tunememory.store.sittings import Sitting
from tunememory.tunes.check import RoundKind
from tunememory.tunes.journal import Practice
from tunememory.tunes.sitting import At
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile

PAUSE_MINUTES = 25.0
"""Minutes of practice after which a pause is offered (Klickstein, The Musician's Way, 2009, p. 75:
alone, about 5 minutes after 25)."""

MOST_MINUTES = 24 * 60.0


def view(desk: OpenFile) -> SittingView:
    """Return where today's sitting stands."""
    at = moment(desk)
    kept = current(desk)
    earlier = desk.repertoire.last_pick_up(at.day)
    return SittingView(
        day=at.day,
        at=kept.step,
        steps=steps_of(desk, at, chosen(desk, at, RoundKind.FIRST)),
        head_only=kept.head_only,
        stopped=kept.stopped,
        closed=kept.closed_at is not None,
        pick_up=earlier[1] if earlier else "",
        pick_up_day=earlier[0] if earlier else None,
        own_pick_up=desk.repertoire.pick_ups(at.day, at.day).get(at.day, ""),
        minutes=minutes_of_day(desk, at.day, at.todays, at.practised),
        asks_minutes=at.returned is not None and not at.todays,
        off=agenda.is_off(desk),
        eve=agenda.is_eve(desk),
    )


def current(desk: OpenFile) -> Sitting:
    """Return today's sitting; one not begun stands at the first round, in the head on an eve."""
    day = desk.day()
    return desk.repertoire.sitting(day) or Sitting(day, head_only=agenda.is_eve(desk))


def go_to(desk: OpenFile, step: At) -> None:
    """Go to a step, forward or back; a closed day is opened again.

    Raises:
        ServiceError: The file cannot be written.
    """
    _keep(desk, replace(current(desk), step=step, stopped=False, closed_at=None))


def set_head_only(desk: OpenFile, *, on: bool) -> None:
    """Say whether the sitting is held without the instrument.

    Raises:
        ServiceError: The file cannot be written.
    """
    _keep(desk, replace(current(desk), head_only=on))


def after_round(desk: OpenFile, kind: RoundKind) -> None:
    """Go on from a round that was asked to its end, inside the change that ends it."""
    kept = current(desk)
    step = kept.step
    if kind is RoundKind.FIRST and step is At.FIRST:
        step = At.PRACTICE
    elif kind is RoundKind.LAST and step in {At.PRACTICE, At.LAST}:
        step = At.OVER
    if step is not kept.step:
        desk.repertoire.save_sitting(replace(kept, step=step))


def set_pick_up(desk: OpenFile, line: str) -> None:
    """Write today's line to the next time, in place of an earlier one; empty takes it out.

    Raises:
        ServiceError: The file cannot be written.
    """
    with desk.changing():
        desk.repertoire.save_pick_up(desk.day(), clean_text(line))


def close_day(desk: OpenFile, line: str) -> None:
    """Close the day, with a line to the next time unless it is empty.

    Raises:
        ServiceError: The file cannot be written; nothing was.
    """
    with desk.changing():
        if clean_text(line):
            set_pick_up(desk, line)
        _keep(desk, replace(current(desk), step=At.OVER, closed_at=desk.now()))


def stop_for_pain(desk: OpenFile, minutes: float) -> None:
    """End the sitting at once and keep everything.

    Args:
        desk: The open repertoire.
        minutes: Of the practice clock, not yet written down.

    Raises:
        ServiceError: The file cannot be written.
    """
    with desk.changing():
        if minutes > 0:
            # A clock that was left running must not keep the sitting from ending.
            practised(desk, min(minutes, MOST_MINUTES))
        over = replace(current(desk), step=At.OVER, stopped=True, closed_at=desk.now())
        _keep(desk, over)


def practised(desk: OpenFile, minutes: float) -> Practice:
    """Write down minutes of the practice clock that belong to no tune.

    Raises:
        ServiceError: The minutes make no sense, or the file cannot be written.
    """
    entry = Practice(
        uuid=new_identity(),
        at=desk.now(),
        day=desk.day(),
        minutes=checked_minutes(minutes),
        head_only=current(desk).head_only,
    )
    record_practice(desk, entry)
    return entry


def checked_minutes(minutes: float) -> float:
    """Return ``minutes`` if a day can hold them.

    Raises:
        ServiceError: It cannot.
    """
    if not 0 <= minutes <= MOST_MINUTES:
        raise ServiceError("give the minutes as a number from 0 to 1440")
    return minutes


def _keep(desk: OpenFile, sitting: Sitting) -> None:
    with desk.changing():
        desk.repertoire.save_sitting(sitting)
