"""Reading the beliefs of a file, and rebuilding them from its history."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.memory.belief import of_this_model
from tunememory.service.remembered import Remembered, load, replayed, to_stored

if TYPE_CHECKING:
    from tunememory.memory.belief import TuneBelief
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.tune import Tune

_A_HANDFUL = 8


def remembered_by(desk: OpenFile) -> Remembered:
    """Return the beliefs of every tune; what the file lacks is replayed and kept."""
    current = desk.repertoire.beliefs_version() == desk.params_version
    stored = desk.repertoire.beliefs() if current else {}
    beliefs, missing = load(list(desk.tunes.values()), stored, desk.params)
    met = desk.last_met.keys() | desk.last_practised.keys()
    again = _replay(desk, [tune for tune in missing if tune.uuid in met])
    beliefs.update(again)
    if (again or not current) and not desk.repertoire.readonly:
        _keep(desk, again)
    return Remembered(desk.params, beliefs)


def rebuild(desk: OpenFile) -> int:
    """Recompute every belief from the history and keep them; return how many tunes differed."""
    with desk.repertoire.writing():
        before = desk.repertoire.beliefs()
        again = _replay(desk, list(desk.tunes.values()))
        _keep(desk, again)
    desk.forget("remembered")
    return _different(before, to_stored(again))


def differing(desk: OpenFile) -> int:
    """Return how many kept beliefs are not what their history gives; nothing is written.

    Those of other parameters or another model are not counted: they are never used.
    """
    if desk.repertoire.beliefs_version() != desk.params_version:
        return 0
    kept = {uuid: blob for uuid, blob in desk.repertoire.beliefs().items() if of_this_model(blob)}
    return _different(kept, to_stored(_replay(desk, list(desk.tunes.values()))))


def refresh(desk: OpenFile, tune: Tune) -> None:
    """Bring one tune's belief in step after the tune itself changed."""
    again = _replay(desk, [tune])
    _keep(desk, again)
    desk.remembered.put(tune.uuid, again[tune.uuid])


def _keep(desk: OpenFile, beliefs: dict[str, TuneBelief]) -> None:
    desk.repertoire.save_beliefs(to_stored(beliefs), parameters_version=desk.params_version)


def _different(before: dict[str, bytes], again: dict[str, bytes]) -> int:
    return sum(blob != before[uuid] for uuid, blob in again.items() if uuid in before)


def _replay(desk: OpenFile, tunes: list[Tune]) -> dict[str, TuneBelief]:
    if not tunes:
        return {}
    kept = desk.repertoire
    if len(tunes) > _A_HANDFUL:
        # One walk through the whole history is quicker.
        return replayed(tunes, kept.checks(), kept.practices(), desk.params)
    return replayed(
        tunes,
        (check for tune in tunes for check in kept.checks(tune.uuid)),
        (entry for tune in tunes for entry in kept.practices(tune.uuid)),
        desk.params,
    )
