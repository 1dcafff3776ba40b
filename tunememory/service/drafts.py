"""A tune as typed into a tune as kept, and back."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.notation.abc_key import write_key
from tunememory.service.errors import ServiceError
from tunememory.service.typed import key_of, tuning_of
from tunememory.service.views import Draft
from tunememory.tunes.entry import EntryError, read_start
from tunememory.tunes.metre import metre_of_kind
from tunememory.tunes.text import NOTE_LIMIT, clean_text
from tunememory.tunes.tune import Start, Tune

if TYPE_CHECKING:
    from datetime import date

    from tunememory.service.settings import Settings
    from tunememory.tunes.key import Key
    from tunememory.tunes.tuning import Tuning

_OWN_KEY = re.compile(r"\A\s*\[K:([^\]]*)\]")
_OWN_METRE = re.compile(r"\A\s*\[M:[^\]]*\]")
"""Inline fields of ABC 2.1 (section 3.2)."""


def tune_of(draft: Draft, *, uuid: str, added: date, settings: Settings, old: Tune | None) -> Tune:
    """Return the tune that ``draft`` describes.

    Args:
        draft: What was typed.
        uuid: Identity of the tune.
        added: Practice day it came in.
        settings: The player's usual tuning and entry form.
        old: The tune before this edit: a start whose text did not change is kept as it is.

    Raises:
        ServiceError: One line naming the field and what to write instead.
    """
    key = key_of(draft.key)
    kind = clean_text(draft.kind).casefold()
    metre = clean_text(draft.metre) or metre_of_kind(kind)
    tuning = tuning_of(draft.tuning)
    titles = tuple(dict.fromkeys(t for t in (clean_text(t) for t in draft.titles) if t))
    starts = _starts(draft, key, metre, tuning or settings.usual, settings.entry_form, old)
    if not titles and not starts:
        raise ServiceError("a tune needs a name, or at least one start if it has no name yet")
    return Tune(
        uuid=uuid,
        titles=titles,
        kind=kind,
        key=key,
        metre=metre,
        tuning=tuning,
        status=draft.status,
        starts=starts,
        declared=draft.declared,
        source=clean_text(draft.source),
        note=clean_text(draft.note, multiline=True, limit=NOTE_LIMIT),
        favourite=draft.favourite,
        added=added,
    )


def draft_of(tune: Tune) -> Draft:
    """Return ``tune`` as the player would have typed it."""
    return Draft(
        titles=tune.titles,
        kind=tune.kind,
        key=write_key(tune.key) if tune.key else "",
        metre=tune.metre,
        tuning=tune.tuning.letters if tune.tuning else "",
        status=tune.status,
        declared=tune.declared,
        source=tune.source,
        note=tune.note,
        favourite=tune.favourite,
        starts=tuple((start.part, _typed(start)) for start in tune.starts),
    )


def start_of(
    text: str, *, part: str, key: Key | None, metre: str, tuning: Tuning, form: str
) -> Start:
    """Return the start typed; in front of it ``[K:Em]`` gives it a key, ``[M:9/8]`` a metre.

    Raises:
        ServiceError: Naming the part and the sign that could not be read.
    """
    text = clean_text(text, limit=NOTE_LIMIT)
    found = _OWN_KEY.match(text)
    own_key = key_of(found[1]) if found else None
    own_metre = Start(part, written=text).metre_in(metre)
    # Blanks instead, so that places in an error count from the first sign typed.
    notes = _OWN_METRE.sub(_blank, _OWN_KEY.sub(_blank, text))
    try:
        start = read_start(
            notes, part=part, key=own_key or key, metre=own_metre, tuning=tuning, form=form
        )
    except EntryError as error:
        raise ServiceError(f"{part} start: {error}") from error
    return replace(start, written=text, key=None if own_key == key else own_key)


def _blank(found: re.Match[str]) -> str:
    return " " * len(found[0])


def _typed(start: Start) -> str:
    """A start as the player would have typed it, its own key in front."""
    if start.key is None or _OWN_KEY.match(start.written):
        return start.written
    return f"[K:{write_key(start.key)}]{start.written}"


def _starts(
    draft: Draft, key: Key | None, metre: str, tuning: Tuning, form: str, old: Tune | None
) -> tuple[Start, ...]:
    kept = {(start.part, _typed(start)): start for start in old.starts} if old else {}
    same_music = old is not None and old.key == key and old.metre == metre
    starts: list[Start] = []
    for part_text, text in draft.starts:
        part = clean_text(part_text, limit=8).upper()
        if len(part) != 1 or not part.isascii() or not part.isalpha():
            raise ServiceError(f"“{part}” is not a part: use A, B, C …")
        if any(start.part == part for start in starts):
            raise ServiceError(f"part {part} is given twice")
        before = kept.get((part, text))
        if before is not None and same_music:
            starts.append(before)
        elif text.strip():
            starts.append(start_of(text, part=part, key=key, metre=metre, tuning=tuning, form=form))
        else:
            starts.append(Start(part))
    return tuple(starts)
