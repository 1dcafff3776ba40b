"""The whole history as the memory model takes it."""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import TYPE_CHECKING

from tunememory.clock import to_days
from tunememory.memory.start import Entry
from tunememory.service.remembered import columns_of, histories_of

if TYPE_CHECKING:
    from tunememory.memory.events import Event
    from tunememory.service.open_file import OpenFile
    from tunememory.tunes.tune import Tune


def whole_history(desk: OpenFile) -> tuple[list[Tune], list[list[Event]]]:
    """Return every tune and what happened to it, oldest first."""
    tunes = list(desk.tunes.values())
    kept = desk.repertoire
    return tunes, histories_of(tunes, kept.checks(), kept.practices())


def entry_of(tune: Tune) -> Entry:
    """Return ``tune`` as it came in."""
    added = datetime.combine(tune.added, time(12), tzinfo=UTC)
    return Entry(columns_of(tune), tune.declared, to_days(added))
