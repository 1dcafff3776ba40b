"""Noticing that a tune may be here already under another name."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.service import twins
from tunememory.service.changes import put
from tunememory.service.drafts import tune_of
from tunememory.service.errors import ServiceError
from tunememory.service.identities import new_identity
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from tunememory.service.open_file import OpenFile
    from tunememory.service.views import Draft
    from tunememory.tunes.pitch import Note
    from tunememory.tunes.tune import Start, Tune

LEAST_NOTES = 8
"""Starts shorter than this are too often alike by chance."""

SURE = 0.05
"""Distance (``alike.compare``) up to which two starts that never part are taken for one: 88 in 100
starts that two people copied from one book are, of random pairs 4 in 100,000."""

Opening = tuple[tuple[int, "Fraction"], ...]


def had_as(desk: OpenFile, draft: Draft) -> Tune | None:
    """Return the tune that begins like the first start of ``draft`` all through, if there is one.

    In any key. ``None`` also where the draft cannot be read.
    """
    try:
        tune = tune_of(
            draft, uuid=new_identity(), added=desk.day(), settings=desk.settings, old=None
        )
    except ServiceError:
        return None
    first = next((start for start in tune.starts if start.notes), None)
    if first is None or len(first.notes) < LEAST_NOTES:
        return None
    alikes = twins.index(desk).twins_of(replace(tune, starts=(first,)))
    for alike in alikes:
        if alike.distance <= SURE and alike.parts_at == alike.other_parts_at == 0:
            return desk.tunes.get(alike.other)
    return None


def name_too(desk: OpenFile, uuid: str, titles: Iterable[str]) -> Tune:
    """Give a tune further names; those it has already are left out.

    Raises:
        ServiceError: It is no longer in the repertoire, or the file cannot be written.
    """
    old = desk.tune(uuid)
    more = (title for title in map(clean_text, titles) if title)
    tune = replace(old, titles=tuple(dict.fromkeys((*old.titles, *more))))
    if tune != old:
        put(desk, [tune])
    return tune


def opening_of(tune: Tune) -> Opening:
    """Return what two settings of one tune share: the first start from its root, note for note.

    Pitches count from the root and without their octave, lengths in bars where the metre is known;
    the pickup is left out. Empty when the start is too short, or the key is not known.
    """
    for start in tune.starts:
        key = start.key or tune.key
        if key is not None and len(start.notes) >= LEAST_NOTES:
            bar = bar_quarters(start.metre_in(tune.metre)) or 1
            return tuple(
                ((note.pitch.midi - key.root_class) % 12, note.quarters / bar)
                for note in _after_pickup(start)
            )
    return ()


def _after_pickup(start: Start) -> tuple[Note, ...]:
    left = start.pickup
    for number, note in enumerate(start.notes):
        if left <= 0:
            return start.notes[number:]
        left -= note.quarters
    return ()
