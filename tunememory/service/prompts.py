"""From a pick of the plan to what is asked, with all that may be revealed, and the plan's note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service import agenda
from tunememory.service.asking import PROMPTS
from tunememory.service.joins import joined_tunes
from tunememory.service.pages import chance_of
from tunememory.service.shown import start_views
from tunememory.service.twins import twins_of
from tunememory.service.views import Asked
from tunememory.tunes.check import NAME, Prompt, join_to, prompt_strands
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tunememory.planning.rounds import Plan
    from tunememory.planning.standing import Pick, Standing
    from tunememory.service.open_file import OpenFile


def asked_of(desk: OpenFile, now: Standing, pick: Pick) -> Asked:
    """Return a prompt with all that may be revealed."""
    after = None
    strands: tuple[str, ...] = (NAME,)
    if now.is_join(pick.place):
        first, second = joined_tunes(now.uuids[pick.place])
        after, tune, prompt = desk.tune(first), desk.tune(second), Prompt.JOIN
        strands = (join_to(second),)
    else:
        tune, prompt = desk.tune(now.uuids[pick.place]), PROMPTS[pick.prompt]
        if prompt is Prompt.HOW:
            strands = prompt_strands(tune, prompt)
    chance = float(now.chance[pick.place]) if after else chance_of(desk, tune.uuid, strands)
    return Asked(
        tune=tune,
        prompt=prompt,
        strands=strands,
        chance=chance,
        why=pick.why,
        starts=start_views(tune, desk.settings),
        twins=twins_of(desk, tune.uuid),
        tuning=now.tuning[pick.place],
        after=after,
    )


def note_of(desk: OpenFile, made: Plan, *, coming_back: bool) -> str:
    """Return the one line that goes with a plan, mostly empty."""
    return next(_notes(desk, made, coming_back=coming_back), "")


def _notes(desk: OpenFile, made: Plan, *, coming_back: bool) -> Iterator[str]:
    """What there is to say of a plan, what matters most first."""
    if coming_back:
        yield "Welcome back. The surest tunes first, a few a day."
    if agenda.is_off(desk):
        yield "A day off: nothing has to be asked."
    if agenda.is_eve(desk):
        yield "A date is tomorrow: starts in the head, the hands rest."
    if desk.dates:
        yield from _untold(desk)
    for longest in made.waiting[:1]:
        number = "1 tune" if longest.tunes == 1 else f"{longest.tunes} tunes"
        if longest.date_in is not None:
            wait = "waits" if longest.tunes == 1 else "wait"
            yield f"For a date in {longest.date_in} days {number} {wait} in {longest.tuning}."
        since = "not met yet" if longest.days == float("inf") else f"for {longest.days:.0f} days"
        yield f"{number} in {longest.tuning} waiting ({since})."
    learning = sum(tune.status is Status.LEARNING for tune in desk.tunes.values())
    if learning > desk.settings.intake:
        yield f"{learning} tunes in learning; {desk.settings.intake} at a time are asked."
    if not made.picks:
        yield "Nothing to ask just now."


def _untold(desk: OpenFile) -> Iterator[str]:
    """Ask what was played at a date that has just been."""
    from tunememory.service import dates  # noqa: PLC0415 - a player without dates loads none of it

    for past in dates.to_tell(desk)[:1]:
        days = (desk.day() - past.on).days
        when = {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
        yield f"What was played at {past.title}, {when}? Tell it under the dates."
