"""Beliefs rebuilt from the history of every tune at once."""

from __future__ import annotations

from dataclasses import replace
from operator import itemgetter
from typing import TYPE_CHECKING

from tunememory.clock import to_days
from tunememory.recall.belief import stack
from tunememory.recall.check import (
    HINT_CAP,
    KEY,
    NAME,
    Check,
    Level,
    Prompt,
    RoundKind,
    column_of,
    strands_of,
)
from tunememory.recall.table import each_untouched
from tunememory.recall.update import CheckEvent, ExposureEvent, advance, event_rows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import datetime

    from tunememory.music.tune import Tune
    from tunememory.recall.belief import Beliefs, TuneBelief
    from tunememory.recall.check import Practice
    from tunememory.recall.forgetting import Floats
    from tunememory.recall.parameters import Parameters
    from tunememory.recall.update import Event


_BLOCK = 512
"""Tunes advanced together: enough to make the calls cheap, few enough to stay in the cache."""


def replay(
    firsts: Sequence[TuneBelief], events: Sequence[Sequence[Event]], params: Parameters
) -> list[TuneBelief]:
    """Apply the history of each tune, in the order given, to its first belief.

    The k-th events of many tunes are taken together. The result is the same to the bit as
    applying ``update.after`` event by event.

    Args:
        firsts: First belief of each of T tunes.
        events: T histories, oldest first.
        params: The player's parameters.

    Raises:
        ValueError: Not as many histories as tunes.
    """
    results: list[TuneBelief] = list(firsts)

    def keep(order: Sequence[int], beliefs: Beliefs) -> None:
        for row, tune in enumerate(order):
            results[tune] = beliefs.tune(row, firsts[tune].columns)

    _run(firsts, events, params, finished=keep)
    return results


def predictions(
    firsts: Sequence[TuneBelief], events: Sequence[Sequence[Event]], params: Parameters
) -> list[list[Floats]]:
    """Return what was said of each event just before it came.

    Args:
        firsts: As for ``replay``.
        events: As for ``replay``.
        params: As for ``replay``.

    Returns:
        For each tune and event a (F,) array: chance of a level of 3 or 4 of the rated strands,
        nan for the others.

    Raises:
        ValueError: Not as many histories as tunes.
    """
    said: list[list[Floats]] = [[] for _ in firsts]

    def note(order: Sequence[int], before: Floats) -> None:
        for row, chances in enumerate(before):
            said[order[row]].append(chances[: firsts[order[row]].columns])

    _run(firsts, events, params, predicted=note)
    return said


def _run(
    firsts: Sequence[TuneBelief],
    events: Sequence[Sequence[Event]],
    params: Parameters,
    finished: Callable[[Sequence[int], Beliefs], None] | None = None,
    predicted: Callable[[Sequence[int], Floats], None] | None = None,
) -> None:
    if len(firsts) != len(events):
        raise ValueError(f"{len(firsts)} tunes but {len(events)} histories")
    # Longest history first: the tunes that still have a k-th event are then the first rows.
    by_length = sorted(range(len(firsts)), key=lambda tune: -len(events[tune]))
    for begin in range(0, len(by_length), _BLOCK):
        order = by_length[begin : begin + _BLOCK]
        beliefs = stack([firsts[tune] for tune in order])
        columns = beliefs.mean.shape[1]
        active = len(order)
        for k in range(len(events[order[0]])):
            while len(events[order[active - 1]]) <= k:
                active -= 1
            rows = event_rows([events[tune][k] for tune in order[:active]], columns)
            said = advance(beliefs.first(active), rows, params)
            if predicted is not None:
                predicted(order, said.chance)
        if finished is not None:
            finished(order, beliefs)


UNTIMED_MINUTES = 1.0
"""How long practice nobody timed, or a tune played in company, counts: once through (common
practice, no source)."""


def event_of(check: Check) -> CheckEvent:
    """What the memory model takes from a check."""
    return CheckEvent(
        at=to_days(check.at),
        day=check.day.toordinal(),
        levels=tuple((column_of(strand), int(level)) for strand, level in check.levels),
        hints=check.hints,
        cold=check.round_kind is not RoundKind.LAST,
    )


def exposure_of(entry: Practice, tune: Tune) -> ExposureEvent:
    """What the memory model takes from practice: strands met without being asked for.

    The name is not met: the player knows what is worked on. In the head alone the key is not
    met either: a tune is hummed in any.
    """
    left_out = {KEY, NAME} if entry.head_only else {NAME}
    return ExposureEvent(
        at=to_days(entry.at),
        day=entry.day.toordinal(),
        columns=tuple(column_of(strand) for strand in strands_of(tune) if strand not in left_out),
        minutes=entry.minutes or UNTIMED_MINUTES,
    )


def capped(check: Check) -> Check:
    """``check`` with no level above the hint cap once a hint was shown."""
    if not check.hints:
        return check
    levels = tuple((strand, Level(min(level, HINT_CAP))) for strand, level in check.levels)
    return replace(check, levels=levels)


def replayed(
    tunes: Sequence[Tune],
    checks: Iterable[Check],
    practices: Iterable[Practice],
    params: Parameters,
) -> dict[str, TuneBelief]:
    """Beliefs of ``tunes`` recomputed from their history, in order of time.

    Of one moment checks come first, and then each kind as given.

    Args:
        tunes: Whose beliefs.
        checks: Any checks; those of other tunes and of joins are passed over.
        practices: Any entries; those of other tunes are passed over.
        params: The player's parameters.
    """
    firsts = each_untouched(tunes, params)
    beliefs = replay(firsts, histories_of(tunes, checks, practices), params)
    return {tune.uuid: belief for tune, belief in zip(tunes, beliefs, strict=True)}


def histories_of(
    tunes: Sequence[Tune], checks: Iterable[Check], practices: Iterable[Practice]
) -> list[list[Event]]:
    """Return what the memory model takes from each tune's history, arguments as ``replayed``."""
    by_uuid = {tune.uuid: tune for tune in tunes}
    events: dict[str, list[tuple[datetime, Event]]] = {tune.uuid: [] for tune in tunes}
    for check in checks:
        if check.tune in events and check.prompt is not Prompt.JOIN:
            events[check.tune].append((check.at, event_of(check)))
    for entry in practices:
        if entry.tune in events:
            events[entry.tune].append((entry.at, exposure_of(entry, by_uuid[entry.tune])))
    for of_tune in events.values():
        of_tune.sort(key=itemgetter(0))
    return [[event for _, event in events[tune.uuid]] for tune in tunes]


def stored_beliefs(beliefs: dict[str, TuneBelief]) -> dict[str, bytes]:
    """Beliefs as the file keeps them."""
    return {tune: belief.to_bytes() for tune, belief in beliefs.items()}
