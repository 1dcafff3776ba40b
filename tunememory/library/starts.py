"""Starts in every form they are shown in, and made ready to be heard."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, partial
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.music.fingering import (
    FIDDLE,
    Instrument,
    drone_strings,
    on_strings,
    reach_words,
    strings_for,
)
from tunememory.music.forms import bar_starts, letters_of, steps_of
from tunememory.music.sound.tempo import quarters_per_minute
from tunememory.store.errors import RepertoireError

if TYPE_CHECKING:
    from collections.abc import Collection

    from tunememory.music.fingering import OnStrings
    from tunememory.music.key import Key
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Start, Tune
    from tunememory.music.ways.material import Piece
    from tunememory.session import Session
    from tunememory.settings import Settings


@dataclass(frozen=True, slots=True)
class StartView:
    """One start in every form it is shown in; rows are aligned note by note.

    Attributes:
        letters: ABC letters, one string a note.
        steps: Scale steps, one string a note.
        fingers: String and finger, one string a note (``"A1"``), on a fretted instrument string
            and fret; ``"–"`` out of reach. Empty where there are no strings.
        bars: Indices of notes that begin a bar (a bar line stands before them).
        strings: Where it lies on the strings; ``None`` where there are none.
        beyond: What of it lies beyond the instrument, in words.
    """

    part: str
    start: Start
    letters: tuple[str, ...]
    steps: tuple[str, ...]
    fingers: tuple[str, ...]
    bars: tuple[int, ...]
    doubt: str = ""
    strings: OnStrings | None = None
    beyond: str = ""


def start_views(tune: Tune, settings: Settings) -> tuple[StartView, ...]:
    """Return every start of ``tune`` as the player's instrument has it, in the tune's tuning."""
    tuning = strings_for(tune.tuning, settings.usual)
    return tuple(
        start_view(start, tune.key, tune.metre, tuning, settings.on) for start in tune.starts
    )


@lru_cache(maxsize=2_000)
def start_view(
    start: Start, key: Key | None, metre: str, tuning: Tuning, instrument: Instrument = FIDDLE
) -> StartView:
    """Return one start in letters, steps and fingers, aligned note by note."""
    own_key = start.key or key
    metre = start.metre_in(metre)
    letters = letters_of(start.notes, own_key)
    strings = on_strings(start.notes, tuning, metre, instrument)
    return StartView(
        part=start.part,
        start=start,
        letters=letters,
        steps=steps_of(start.notes, own_key),
        fingers=strings.names if strings else (),
        bars=bar_starts(start.notes, start.pickup, metre),
        doubt=start.doubt,
        strings=strings,
        beyond=reach_words(start.notes, letters, tuning, instrument),
    )


CAUTION = "Sound low, not near the ear; rest ears and hands."
"""Said once, when sound is used for the first time. The sound itself starts quiet and short (World
Health Organization and ITU 2019, *Safe listening devices and systems*); rests in each hour:
Klickstein 2009, *The Musician's Way*, p. 75.
"""

EXERCISE_TEMPO = 60.0
"""Quarter notes a minute of an exercise: two eighths a second, common practice, no source."""

_CAUTION_SAID, _YES = "sound_caution_said", "true"
_SEED = 1983
"""The noise of the strings is always the same, and with it the sound of a start."""


@dataclass(frozen=True, slots=True)
class Sound:
    """One or more starts of a tune, ready to be heard. Holds nothing of the open file.

    Attributes:
        starts: Starts that have notes, in order.
        metre: As in ABC ``M:``.
        tempo: Quarter notes a minute.
        drones: For each start the open strings that sound under it, as MIDI numbers.
        loud: The usual loudness instead of the quiet one.
        under: For each start and each of its notes, MIDI numbers struck together with it; empty
            where the starts are alone.
    """

    starts: tuple[Start, ...]
    metre: str
    tempo: float
    drones: tuple[tuple[int, ...], ...]
    loud: bool = False
    under: tuple[tuple[tuple[int, ...], ...], ...] = ()

    @property
    def seconds(self) -> float:
        """How long the notes take, silence between starts left out."""
        return sum(float(_length(start)) for start in self.starts) * 60 / self.tempo

    def wav(self) -> bytes:
        """Return the sound as a WAV file: 16 bit, one channel, 44.1 kHz."""
        # Loaded only when something is to be heard: numpy takes a while.
        import numpy as np  # noqa: PLC0415

        from tunememory.music.sound.samples import QUIET, USUAL, start_samples, together, wav_bytes  # noqa: PLC0415

        random = np.random.default_rng(_SEED)
        samples = [
            start_samples(start, self.tempo, random, drone=drone, metre=self.metre, under=under)
            for start, drone, under in zip(
                self.starts, self.drones, self.under or ((),) * len(self.starts), strict=True
            )
        ]
        return wav_bytes(together(samples, USUAL if self.loud else QUIET))


def sound_of(
    tune: Tune, settings: Settings, parts: Collection[str] = (), *, drone: bool | None = None
) -> Sound:
    """Return starts of a tune ready to be heard, at the speed of its kind.

    Args:
        tune: The tune.
        settings: Its tuning where it names none, loudness, drone.
        parts: Parts wanted; none is every part.
        drone: With a drone or without; ``None`` is what the settings say.

    Raises:
        NotDoneError: None of the parts has its start written down.
    """
    starts = tuple(
        start for start in tune.starts if start.notes and (not parts or start.part in parts)
    )
    if not starts:
        which = f"the {', '.join(sorted(parts))} start" if parts else "a start"
        raise NotDoneError(f"nothing to hear: {tune.title} has not got {which} written down yet")
    wanted = settings.drone if drone is None else drone
    tuning = tune.tuning or settings.usual
    return Sound(
        starts=starts,
        metre=tune.metre,
        tempo=quarters_per_minute(tune.kind, tune.metre),
        drones=tuple(_drone(start, tune, tuning) if wanted else () for start in starts),
        loud=settings.loudness == "usual",
    )


def sound_of_piece(piece: Piece, tune: Tune, settings: Settings) -> Sound:
    """Return a piece of a way of working on a tune, ready to be heard.

    In the tune's own metre it goes as fast as the tune; an exercise without metre goes slowly.

    Args:
        piece: What is to be heard.
        tune: The tune it belongs to.
        settings: The tuning where the tune names none, loudness, drone.
    """
    kind = tune.kind if piece.metre == tune.metre else ""
    # A drone beside open strings or chords would be one thing too many.
    drone = settings.drone and not any(piece.under)
    return Sound(
        starts=(piece.start,),
        metre=piece.metre,
        tempo=quarters_per_minute(kind, piece.metre) if piece.metre else EXERCISE_TEMPO,
        drones=(_drone(piece.start, tune, tune.tuning or settings.usual) if drone else (),),
        loud=settings.loudness == "usual",
        under=(piece.under,),
    )


def drone_pitches(root_class: int, tuning: Tuning) -> tuple[int, ...]:
    """Return the open strings that sound together under a tune: the root, and a fifth above it.

    Of several strings of the same letter the lowest. Common practice, no source.

    Args:
        root_class: Pitch class of the root, 0 (C) to 11 (B).
        tuning: Strings of the instrument.

    Returns:
        MIDI numbers, the root first; empty where no open string fits.
    """
    chosen: dict[int, int] = {}
    for string in drone_strings(root_class, tuning):
        pitch = tuning.strings[string]
        chosen[pitch % 12] = min(pitch, chosen.get(pitch % 12, pitch))
    return tuple(chosen.values())


def sound_caution(session: Session) -> str:
    """Return what is said once, the first time sound is used; afterwards an empty text."""
    if session.repertoire.settings.all().get(_CAUTION_SAID) == _YES:
        return ""
    # A file that cannot be written to must not keep anyone from hearing a start.
    with suppress(RepertoireError):
        session.repertoire.settings.save({_CAUTION_SAID: _YES})
    return CAUTION


def play(heard: Sound) -> str:
    """Play to the end on this machine.

    Returns:
        An empty text, or one line saying why nothing was heard.
    """
    from tunememory.music.sound.player import play_to_end  # noqa: PLC0415 - only to be heard

    return play_to_end(partial(Sound.wav, heard))


def _drone(start: Start, tune: Tune, tuning: Tuning) -> tuple[int, ...]:
    key = start.key or tune.key
    return () if key is None else drone_pitches(key.root_class, tuning)


def _length(start: Start) -> Fraction:
    return sum((note.quarters for note in start.notes), Fraction(0))
