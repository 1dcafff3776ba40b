"""Tunes of this repertoire that begin alike."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from tunememory.service.views import Twin

if TYPE_CHECKING:
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.tune import Start, Tune

SHARED_NOTES = 5
"""Notes that two starts must share from the first on to count as twins."""


def twins_of(desk: OpenFile, uuid: str) -> tuple[Twin, ...]:
    """Return the tunes that begin like this one, the latest to part first."""
    return _all(desk).get(uuid, ())


def twin_map(desk: OpenFile) -> dict[str, frozenset[str]]:
    """Return each tune that has twins with the identities of its twins."""
    return {uuid: frozenset(t.tune for t in found) for uuid, found in _all(desk).items()}


def forget(desk: OpenFile) -> None:
    """Work the twins out anew at the next use."""
    desk.forget("twins")


def _all(desk: OpenFile) -> dict[str, tuple[Twin, ...]]:
    known: dict[str, tuple[Twin, ...]] | None = desk.__dict__.get("twins")
    if known is None:
        known = _found(list(desk.tunes.values()))
        desk.__dict__["twins"] = known
    return known


def _found(tunes: list[Tune]) -> dict[str, tuple[Twin, ...]]:
    groups: dict[tuple[int, ...], list[tuple[Tune, Start, tuple[int, ...]]]] = defaultdict(list)
    for tune in tunes:
        for start in tune.starts:
            notes = _from_root(tune, start)
            if len(notes) >= SHARED_NOTES:
                groups[notes[:SHARED_NOTES]].append((tune, start, notes))
    twins: dict[str, list[Twin]] = defaultdict(list)
    for group in groups.values():
        for tune, start, notes in group:
            for other, other_start, other_notes in group:
                if other.uuid != tune.uuid:
                    shared = _shared(notes, other_notes)
                    twins[tune.uuid].append(
                        Twin(other.uuid, other.title, start.part, other_start.part, shared + 1, 0.0)
                    )
    return {
        uuid: tuple(sorted(found, key=lambda twin: (-twin.parts_at, twin.title)))
        for uuid, found in twins.items()
    }


def _from_root(tune: Tune, start: Start) -> tuple[int, ...]:
    """Semitones above the root, an octave apart counting as different; empty without a key."""
    key = start.key or tune.key
    if key is None or not start.notes:
        return ()
    first = start.notes[0].pitch.midi
    base = first - (first - key.root_class) % 12
    return tuple(note.pitch.midi - base for note in start.notes)


def _shared(one: tuple[int, ...], other: tuple[int, ...]) -> int:
    return next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b),
                min(len(one), len(other)))  # fmt: skip
