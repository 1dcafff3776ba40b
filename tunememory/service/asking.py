"""From beliefs and history to a planned round."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.memory.columns import column_of
from tunememory.planning.standing import HOW, NEW_CHECKS, WHAT, Standing
from tunememory.planning.value import prompt_values
from tunememory.tunes.check import Level, Prompt, prompt_strands
from tunememory.tunes.tune import Status

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from tunememory.memory.belief import Beliefs
    from tunememory.service.chances import Picture
    from tunememory.tunes.check import Check
    from tunememory.tunes.tune import Tune
    from tunememory.tunes.tuning import Tuning

PROMPTS = {HOW: Prompt.HOW, WHAT: Prompt.WHAT}
COLUMNS = {Prompt.HOW: HOW, Prompt.WHAT: WHAT}


@dataclass(frozen=True, slots=True)
class Fixed:
    """What planning needs of the tunes themselves; made anew only when a tune changes.

    Arrays have one place a tune, in the order of the beliefs.
    """

    uuids: tuple[str, ...]
    tuning: tuple[str, ...]
    root: NDArray[np.int64]
    kind: tuple[str, ...]
    how: NDArray[np.bool_]
    what: NDArray[np.bool_]
    learning: NDArray[np.bool_]
    favourite: NDArray[np.bool_]
    added: NDArray[np.int64]
    twins: dict[int, frozenset[int]]


def fixed(
    tunes: Sequence[Tune], columns: int, usual: Tuning, twins: Mapping[str, frozenset[str]]
) -> Fixed:
    """Return the arrays of ``tunes``.

    Args:
        tunes: In the order of the beliefs.
        columns: F, the number of strand columns of the beliefs.
        usual: Tuning of tunes that name none.
        twins: Identity of a tune to those that begin alike.
    """
    how = np.zeros((len(tunes), columns), dtype=bool)
    what = np.zeros((len(tunes), columns), dtype=bool)
    for place, tune in enumerate(tunes):
        if tune.status in {Status.KEPT, Status.LEARNING}:
            how[place, [column_of(s) for s in prompt_strands(tune, Prompt.HOW)]] = True
            what[place, [column_of(s) for s in prompt_strands(tune, Prompt.WHAT)]] = True
    places = {tune.uuid: place for place, tune in enumerate(tunes)}
    return Fixed(
        uuids=tuple(tune.uuid for tune in tunes),
        tuning=tuple((tune.tuning or usual).letters for tune in tunes),
        root=np.array([tune.key.root_class if tune.key else -1 for tune in tunes], dtype=np.int64),
        kind=tuple(tune.kind for tune in tunes),
        how=how,
        what=what,
        learning=np.array([tune.status is Status.LEARNING for tune in tunes], dtype=bool),
        favourite=np.array([tune.favourite for tune in tunes], dtype=bool),
        added=np.array([tune.added.toordinal() for tune in tunes], dtype=np.int64),
        twins={
            places[uuid]: frozenset(places[mate] for mate in mates if mate in places)
            for uuid, mates in twins.items()
            if uuid in places
        },
    )


def standing(
    tunes: Fixed,
    beliefs: Beliefs,
    drawn: Picture,
    strand_values: NDArray[np.float64],
    last_met: Mapping[str, float],
    asked_today: frozenset[str],
    put_off: frozenset[str],
) -> Standing:
    """Return the repertoire as the planner takes it.

    Args:
        tunes: Arrays of the tunes.
        beliefs: Beliefs in the same order.
        drawn: Chances now.
        strand_values: (T, F) worth of checking each strand now.
        last_met: Last check of each tune, in days on the model's scale.
        asked_today: Tunes asked in any round today.
        put_off: Tunes not wanted today.
    """
    rows = np.arange(len(tunes.uuids))
    opening = np.where(drawn.opening >= 0, drawn.chance[rows, drawn.opening], 0.0)
    return Standing(
        uuids=tunes.uuids,
        tuning=tunes.tuning,
        root=tunes.root,
        kind=tunes.kind,
        askable=np.stack([tunes.how.any(axis=1), tunes.what.any(axis=1)], axis=1),
        learning=tunes.learning,
        new=tunes.learning | (beliefs.checks.max(axis=1, initial=0) < NEW_CHECKS),
        favourite=tunes.favourite,
        chance=opening,
        value=prompt_values(strand_values, tunes.how, tunes.what, tunes.favourite, tunes.learning),
        asked_today=np.array([uuid in asked_today for uuid in tunes.uuids], dtype=bool),
        put_off=np.array([uuid in put_off for uuid in tunes.uuids], dtype=bool),
        last_met=np.array([last_met.get(uuid, np.nan) for uuid in tunes.uuids], dtype=float),
        added=tunes.added,
        twins=tunes.twins,
    )


def failed_today(checks: Sequence[Check], places: Mapping[str, int]) -> list[tuple[int, int]]:
    """Return ``(place, prompt)`` of today's cold checks with a level below 3, in order."""
    failed: list[tuple[int, int]] = []
    for check in checks:
        place = places.get(check.tune)
        if place is not None and any(level < Level.FIND for _, level in check.levels):
            failed.append((place, COLUMNS[check.prompt]))
    return failed
