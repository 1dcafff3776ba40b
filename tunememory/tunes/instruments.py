"""Instruments: how far they reach, and what a start does that goes beyond.

Ranges as written, common practice, no source: the flute and the whistle in D have no note below
their D (the whistle sounds an octave above what is written); a five-string banjo sounds an octave
below it, as does a tenor banjo tuned like a fiddle, whose strings are named as the fiddle's here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.tunes.fingering import fingering
from tunememory.tunes.pitch import Note, Pitch
from tunememory.tunes.places import HIGHEST, OUT_OF_REACH, Place, place_mark, places_of
from tunememory.tunes.tuning import STANDARD, Tuning

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

_OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Instrument:
    """What a start is shown for.

    Attributes:
        name: As the player calls it.
        tuning: Usual tuning; the fiddle's, and not used, where there are no strings.
        reach: Lowest and highest written note (MIDI) where there are no strings, else ``None``.
        frets: Highest fret counted on; 0 where fingers are named, or there are no strings.
        drones: So many strings, the first ones, are not stopped.
        sounds_below: Semitones from what is written down to what sounds.
    """

    name: str
    tuning: Tuning = STANDARD
    reach: tuple[int, int] | None = None
    frets: int = 0
    drones: int = 0
    sounds_below: int = 0

    def reach_in(self, tuning: Tuning) -> tuple[int, int] | None:
        """Lowest and highest written note (MIDI); ``None`` where one can go on up the strings."""
        if self.reach is not None or not self.frets:
            return self.reach
        strings = tuning.strings[self.drones :]
        return min(strings) + self.sounds_below, max(strings) + self.frets + self.sounds_below


FIDDLE = Instrument("fiddle")
_FRETS = 12
INSTRUMENTS = {
    one.name: one
    for one in (
        FIDDLE,
        Instrument("mandolin", frets=_FRETS),
        Instrument("tenor banjo", frets=_FRETS),
        Instrument(
            "five-string banjo",
            Tuning((67, 50, 55, 59, 62)),
            frets=_FRETS,
            drones=1,
            sounds_below=_OCTAVE,
        ),
        Instrument("flute", reach=(62, 83)),
        Instrument("whistle", reach=(62, 83)),
    )
}
"""By name; the first is the one taken when none is chosen."""


def strings_for(tuning: Tuning | None, usual: Tuning) -> Tuning:
    """A tune's own tuning where the player's instrument has as many strings, else the usual."""
    return tuning if tuning and len(tuning.strings) == len(usual.strings) else usual


@dataclass(frozen=True, slots=True)
class OnStrings:
    """A start on the strings of an instrument.

    Attributes:
        strings: Those that are stopped, and may be played open.
        places: One for each note, ``None`` out of reach.
        marks: Finger or fret of each place, ``OUT_OF_REACH`` beyond.
    """

    strings: Tuning
    places: tuple[Place | None, ...]
    marks: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """String and finger, or string and fret, of each note: ``"A1"``."""
        strings = self.strings.string_names
        return tuple(
            mark if place is None else strings[place.string] + mark
            for place, mark in zip(self.places, self.marks, strict=True)
        )


def on_strings(
    notes: Sequence[Note], tuning: Tuning, bar: Fraction, instrument: Instrument
) -> OnStrings | None:
    """Return where a start lies, the easiest way; ``None`` on an instrument without strings.

    Args:
        notes: The start, as written.
        tuning: All strings of the instrument.
        bar: Length of a bar in quarters.
        instrument: Which one.
    """
    if instrument.reach is not None:
        return None
    stopped = Tuning(tuning.strings[instrument.drones :])
    octaves = instrument.sounds_below // _OCTAVE
    sounding = [_octaves_lower(note, octaves) for note in notes]
    places = fingering(sounding, stopped, bar).places
    if not instrument.frets:
        return OnStrings(stopped, places, tuple(_mark(place) for place in places))
    top = max(range(len(stopped.strings)), key=stopped.strings.__getitem__)
    fretted = tuple(
        place or _up_the_neck(note, top, stopped, instrument.frets)
        for note, place in zip(sounding, places, strict=True)
    )
    marks = (OUT_OF_REACH if place is None else str(place.semitones) for place in fretted)
    return OnStrings(stopped, fretted, tuple(marks))


def reach_told(
    notes: Sequence[Note], names: Sequence[str], tuning: Tuning, instrument: Instrument
) -> str:
    """Say which notes of a start lie beyond the instrument, and which octave would fit.

    On strings that are fingered, which lie beyond first position; what is too low for them is
    doubted where it is typed.

    Args:
        notes: The start, as written.
        names: What each note is called.
        tuning: All strings of the instrument.
        instrument: Which one.

    Returns:
        Sentences, such as ``"Too low for the flute: note 3 (A,). An octave up all of it fits."``;
        empty where every note is in reach.
    """
    reach = instrument.reach_in(tuning)
    if reach is None:
        lowest = min(tuning.strings)
        away = [
            place
            for place, note in enumerate(notes)
            if note.pitch.midi > lowest and not places_of(note.pitch, tuning)
        ]
        return f"Beyond first position: {_listed(away, names)}." if away else ""
    midis = [note.pitch.midi for note in notes]
    low = [place for place, midi in enumerate(midis) if midi < reach[0]]
    high = [place for place, midi in enumerate(midis) if midi > reach[1]]
    if not low and not high:
        return ""
    told = [
        f"Too {word} for the {instrument.name}: {_listed(places, names)}."
        for word, places in (("low", low), ("high", high))
        if places
    ]
    for word, by in (("up", _OCTAVE), ("down", -_OCTAVE)):
        if all(reach[0] <= midi + by <= reach[1] for midi in midis):
            return " ".join([*told, f"An octave {word} all of it fits."])
    for which, word, by, places in (
        ("low", "up", _OCTAVE, low),
        ("high", "down", -_OCTAVE, high),
    ):
        if places and all(reach[0] <= midis[place] + by <= reach[1] for place in places):
            those = "it" if len(places) == 1 else "them"
            told.append(f"Play {f'the {which}' if low and high else those} an octave {word}.")
    return " ".join(told)


_LISTED = 4
_HIGHEST_FINGER = 4


def _listed(places: Sequence[int], names: Sequence[str]) -> str:
    if len(places) > _LISTED:
        return f"{len(places)} of {len(names)} notes"
    numbers = " and ".join(str(place + 1) for place in places)
    called = ", ".join(dict.fromkeys(names[place] for place in places))
    return f"note{'s' * (len(places) > 1)} {numbers} ({called})"


def _mark(place: Place | None) -> str:
    return OUT_OF_REACH if place is None else place_mark(place)


def _up_the_neck(note: Note, top: int, strings: Tuning, frets: int) -> Place | None:
    """The place of a note too high for the hand at the nut, on the highest string."""
    fret = note.pitch.midi - strings.strings[top]
    return Place(top, fret, _HIGHEST_FINGER) if HIGHEST < fret <= frets else None


def _octaves_lower(note: Note, octaves: int) -> Note:
    pitch = note.pitch
    return Note(Pitch(pitch.octave - octaves, pitch.letter, pitch.alter), note.quarters)
