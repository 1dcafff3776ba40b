"""Finding tunes by name and by notes."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.library.overview import rows_of
from tunememory.library.twins import Twin, twins_of
from tunememory.music.finding import LEAST_NOTES, NameIndex, NoteIndex
from tunememory.music.key import Key
from tunememory.music.typed_starts import GUESSED, Form, form_of, read_start
from tunememory.session import About, Memo
from tunememory.text import NOTE_LIMIT, clean_text

if TYPE_CHECKING:
    from datetime import date

    from tunememory.library.overview import TuneRow
    from tunememory.music.finding import Found
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Start, Tune
    from tunememory.session import Session


@dataclass(frozen=True, slots=True)
class Glance:
    """What a player who is called on needs of a tune.

    Attributes:
        tune: The tune.
        tuning: Its strings.
        part: The part to begin with, empty where none is written.
        twins: Tunes that begin alike, nearest first.
        met: The day on which it was last asked or played, ``None`` for never.
    """

    tune: Tune
    tuning: str
    part: str
    twins: tuple[Twin, ...]
    met: date | None


def tunes_named(session: Session, words: str) -> tuple[TuneRow, ...]:
    """Return the tunes with all of ``words`` in a title, best first."""
    return rows_of(session, [named.tune for named in _names(session).find(words)])


def tunes_beginning(session: Session, notes: str, kind: str = "") -> tuple[Found, ...]:
    """Return the tunes with a start that begins like ``notes`` in any key, nearest first.

    Raises:
        NotDoneError: The notes cannot be read, or there are too few of them.
    """
    text = clean_text(notes, limit=NOTE_LIMIT)
    start = _typed(session, text)
    pitches = [note.pitch for note in start.notes]
    if len(pitches) < LEAST_NOTES:
        raise NotDoneError(f"type at least {LEAST_NOTES} notes; 8 mostly find the one tune")
    form = form_of(text, session.settings.entry_form)
    # Fingers say which sharps and flats are meant, and which octave; letters read as if in C do
    # not, nor do letters of one octave say that they are meant to lie there.
    exact = form in {Form.FINGERS, Form.FRETS}
    one_octave = len({pitch.octave for pitch in pitches}) == 1
    return _starts(session).find(
        pitches,
        kind=clean_text(kind).casefold(),
        accidentals=exact,
        octaves=exact or not (one_octave or start.doubt == GUESSED),
        from_root=form is Form.STEPS,
    )


def glance_at(session: Session, uuid: str, part: str) -> Glance:
    """Return what a player who is called on needs of a tune.

    Args:
        session: The open repertoire.
        uuid: Its identity.
        part: The part to begin with; the first one written down when empty.

    Raises:
        NotDoneError: It is no longer in the repertoire.
    """
    tune = session.tune(uuid)
    moments = filter(None, (session.last_met.get(uuid), session.last_practised.get(uuid)))
    return Glance(
        tune=tune,
        tuning=(tune.tuning or session.settings.usual).letters,
        part=part or next((start.part for start in tune.starts if start.notes), ""),
        twins=twins_of(session, uuid),
        met=max(map(session.day_of, moments), default=None),
    )


def _typed(session: Session, text: str) -> Start:
    """Read notes typed in any form; the key does not matter, so they are read as if in C."""
    usual = session.settings.usual
    try:
        return _read(text, session.settings.entry_form, usual)
    except NotDoneError:
        # "f#" is not ABC, but it is plain what is meant.
        with suppress(NotDoneError):
            return _read(text, Form.LETTERS, usual)
        raise


def _read(text: str, form: str, tuning: Tuning) -> Start:
    return read_start(text, part="A", key=Key("C"), metre="", tuning=tuning, form=form)


_starts = Memo(lambda session: NoteIndex(session.tunes.values()), About.TUNES)
_names = Memo(
    lambda session: NameIndex.of((tune.uuid, tune.titles) for tune in session.tunes.values()),
    About.TUNES,
)
