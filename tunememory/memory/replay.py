"""Beliefs rebuilt from the history of every tune at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.memory.belief import Beliefs, TuneBelief, stack
from tunememory.memory.update import advance, event_rows

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tunememory.memory.arrays import Floats
    from tunememory.memory.events import Event
    from tunememory.memory.parameters import Parameters

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
