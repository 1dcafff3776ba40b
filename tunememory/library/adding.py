"""Adding, editing and removing tunes."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.library import twins
from tunememory.library.starts import Sound, sound_of, start_view
from tunememory.music.abc.key import write_key
from tunememory.music.fingering import strings_for
from tunememory.music.metre import bar_quarters, metre_of_kind
from tunememory.music.strings import tuning_of
from tunememory.music.tune import Declared, Start, Status, Tune
from tunememory.music.typed_starts import key_of, read_start
from tunememory.session import About, refresh
from tunememory.store.records import new_identity
from tunememory.text import NOTE_LIMIT, clean_text, fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date
    from fractions import Fraction

    from tunememory.library.starts import StartView
    from tunememory.music.key import Key
    from tunememory.music.pitch import Note
    from tunememory.music.strings import Tuning
    from tunememory.session import Session
    from tunememory.settings import Settings


@dataclass(frozen=True, slots=True)
class Draft:
    """A tune as typed, before it is checked. Every field may be empty.

    ``starts`` are ``(part, text)`` pairs in any entry form (``music.typed_starts``).
    """

    titles: tuple[str, ...] = ()
    kind: str = ""
    key: str = ""
    metre: str = ""
    tuning: str = ""
    status: Status = Status.KEPT
    declared: Declared = Declared.KNOWN
    source: str = ""
    note: str = ""
    favourite: bool = False
    starts: tuple[tuple[str, str], ...] = ()


_OWN_KEY = re.compile(r"\A\s*\[K:([^\]]*)\]")
_OWN_METRE = re.compile(r"\A\s*\[M:[^\]]*\]")
"""Inline fields of ABC 2.1 (section 3.2)."""


@dataclass(frozen=True, slots=True)
class _Reading:
    """What typed starts are read with.

    Attributes:
        key: Of the tune, ``None`` when it is not known.
        metre: As in ABC ``M:``, that of its kind where none is typed.
        tuning: Strings that typed fingers are counted on.
        form: How a start is typed when no prefix says otherwise.
    """

    key: Key | None
    metre: str
    tuning: Tuning
    form: str


def _reading(draft: Draft, settings: Settings) -> _Reading:
    return _Reading(
        key=key_of(draft.key),
        metre=clean_text(draft.metre) or metre_of_kind(clean_text(draft.kind).casefold()),
        tuning=tuning_of(draft.tuning) or settings.usual,
        form=settings.entry_form,
    )


def tune_of(draft: Draft, *, uuid: str, added: date, settings: Settings, old: Tune | None) -> Tune:
    """Return the tune that ``draft`` describes.

    Args:
        draft: What was typed.
        uuid: Identity of the tune.
        added: Practice day it came in.
        settings: The player's usual tuning and entry form.
        old: The tune before this edit: a start whose text did not change is kept as it is.

    Raises:
        NotDoneError: One line naming the field and what to write instead.
    """
    reading = _reading(draft, settings)
    titles = tuple(dict.fromkeys(t for t in (clean_text(t) for t in draft.titles) if t))
    starts = _starts(draft, reading, old)
    if not titles and not starts:
        raise NotDoneError("a tune needs a name, or at least one start if it has no name yet")
    return Tune(
        uuid=uuid,
        titles=titles,
        kind=clean_text(draft.kind).casefold(),
        key=reading.key,
        metre=reading.metre,
        tuning=tuning_of(draft.tuning),
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


def _start_of(text: str, part: str, reading: _Reading) -> Start:
    """Return the start typed; in front of it ``[K:Em]`` gives it a key, ``[M:9/8]`` a metre.

    Raises:
        NotDoneError: Naming the part and the sign that could not be read.
    """
    text = clean_text(text, limit=NOTE_LIMIT)
    found = _OWN_KEY.match(text)
    own_key = key_of(found[1]) if found else None
    own_metre = Start(part, written=text).metre_in(reading.metre)
    # Blanks instead, so that places in an error count from the first sign typed.
    notes = _OWN_METRE.sub(_blank, _OWN_KEY.sub(_blank, text))
    try:
        start = read_start(
            notes,
            part=part,
            key=own_key or reading.key,
            metre=own_metre,
            tuning=reading.tuning,
            form=reading.form,
        )
    except NotDoneError as error:
        raise NotDoneError(f"{part} start: {error}") from error
    return replace(start, written=text, key=None if own_key == reading.key else own_key)


def _blank(found: re.Match[str]) -> str:
    return " " * len(found[0])


def _typed(start: Start) -> str:
    """A start as the player would have typed it, its own key in front."""
    if start.key is None or _OWN_KEY.match(start.written):
        return start.written
    return f"[K:{write_key(start.key)}]{start.written}"


def _starts(draft: Draft, reading: _Reading, old: Tune | None) -> tuple[Start, ...]:
    kept = {(start.part, _typed(start)): start for start in old.starts} if old else {}
    same_music = old is not None and (old.key, old.metre) == (reading.key, reading.metre)
    starts: list[Start] = []
    for part_text, text in draft.starts:
        part = clean_text(part_text, limit=8).upper()
        if len(part) != 1 or not part.isascii() or not part.isalpha():
            raise NotDoneError(f"“{part}” is not a part: use A, B, C …")
        if any(start.part == part for start in starts):
            raise NotDoneError(f"part {part} is given twice")
        before = kept.get((part, text))
        if before is not None and same_music:
            starts.append(before)
        elif text.strip():
            starts.append(_start_of(text, part, reading))
        else:
            starts.append(Start(part))
    return tuple(starts)


def preview_start(session: Session, text: str, draft: Draft) -> StartView:
    """Return a start of ``draft`` as it would be kept, in every form.

    Raises:
        NotDoneError: One line naming the sign that cannot be read.
    """
    reading = _reading(draft, session.settings)
    start = _start_of(text, "A", reading)
    strings = strings_for(reading.tuning, session.settings.usual)
    return start_view(start, reading.key, reading.metre, strings, session.settings.on)


def sound_of_draft(session: Session, draft: Draft, part: str) -> Sound:
    """Return one start as typed, ready to be heard; the other starts need not be readable.

    Raises:
        NotDoneError: It cannot be read, or there is nothing typed.
    """
    alone = replace(
        draft,
        titles=draft.titles or ("it",),
        starts=tuple(start for start in draft.starts if start[0] == part),
    )
    return sound_of(_new_tune(session, alone), session.settings, (part,))


def same_title(session: Session, title: str) -> tuple[Tune, ...]:
    """Return the tunes that already go by ``title`` (case, accents and articles forgiven)."""
    wanted = fold_title(title)
    return tuple(
        tune
        for tune in session.tunes.values()
        if wanted and any(fold_title(other) == wanted for other in tune.titles)
    )


def add_tune(session: Session, draft: Draft) -> Tune:
    """Add a tune.

    Raises:
        NotDoneError: A field cannot be read, or the file cannot be written.
    """
    return add_tunes(session, [_new_tune(session, draft)])[0]


def _new_tune(session: Session, draft: Draft) -> Tune:
    return tune_of(
        draft, uuid=new_identity(), added=session.day(), settings=session.settings, old=None
    )


def add_tunes(session: Session, tunes: Sequence[Tune]) -> Sequence[Tune]:
    """Add finished tunes in one transaction."""
    with session.changing():
        session.repertoire.tunes.add(tunes)
        session.changed(About.TUNES)
        twins.compare_new_starts(session, at_most=twins.AT_ONCE)
    return tunes


def edit_tune(session: Session, uuid: str, draft: Draft) -> Tune:
    """Change a tune.

    Raises:
        NotDoneError: A field cannot be read, the tune is gone, or the file cannot be written.
    """
    old = session.tune(uuid)
    tune = tune_of(draft, uuid=uuid, added=old.added, settings=session.settings, old=old)
    change_tunes(session, [tune])
    return tune


def change_tunes(session: Session, tunes: Sequence[Tune]) -> None:
    """Write changed tunes in one transaction and bring their beliefs in step.

    Raises:
        NotDoneError: The file cannot be written; nothing was.
    """
    with session.changing():
        stale = set(session.repertoire.twins.not_compared(tune.uuid for tune in tunes))
        for tune in tunes:
            before = session.repertoire.tunes.get(tune.uuid)
            session.repertoire.tunes.update(tune)
            if tune.uuid not in stale and _music_of(tune) == _music_of(before):
                session.repertoire.twins.hold(tune.uuid)
        session.changed(About.TUNES)
        for tune in tunes:
            refresh(session, tune)
        twins.compare_new_starts(session, at_most=twins.AT_ONCE)


def _music_of(tune: Tune) -> tuple[object, ...]:
    """What twins depend on."""
    return tune.starts, tune.key, tune.metre


def set_status(session: Session, uuid: str, status: Status) -> None:
    """Say of a tune that it is wanted, in learning, kept or resting."""
    change_tunes(session, [replace(session.tune(uuid), status=status)])


def remove_tune(session: Session, uuid: str) -> None:
    """Take a tune out of the repertoire; its history stays in the file.

    Raises:
        NotDoneError: It is gone already, or the file cannot be written.
    """
    session.tune(uuid)
    session.repertoire.tunes.remove(uuid)
    session.changed(About.TUNES)


LEAST_NOTES = 8
"""Starts shorter than this are too often alike by chance."""

SURE = 0.05
"""Distance (``music.likeness``) up to which two starts that never part are taken for one: 88 in 100
starts that two people copied from one book are, of random pairs 4 in 100,000."""

Opening = tuple[tuple[int, "Fraction"], ...]


def had_as(session: Session, draft: Draft) -> Tune | None:
    """Return the tune that begins like the first start of ``draft`` all through, if there is one.

    In any key. ``None`` also where the draft cannot be read.
    """
    try:
        tune = _new_tune(session, draft)
    except NotDoneError:
        return None
    first = next((start for start in tune.starts if start.notes), None)
    if first is None or len(first.notes) < LEAST_NOTES:
        return None
    alikes = twins.index(session).twins_of(replace(tune, starts=(first,)))
    for alike in alikes:
        if alike.distance <= SURE and alike.parts_at == alike.other_parts_at == 0:
            return session.tunes.get(alike.other)
    return None


def add_names(session: Session, uuid: str, titles: Iterable[str]) -> Tune:
    """Give a tune further names; those it has already are left out.

    Raises:
        NotDoneError: It is no longer in the repertoire, or the file cannot be written.
    """
    old = session.tune(uuid)
    more = (title for title in map(clean_text, titles) if title)
    tune = replace(old, titles=tuple(dict.fromkeys((*old.titles, *more))))
    if tune != old:
        change_tunes(session, [tune])
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
