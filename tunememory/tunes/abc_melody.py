"""From ABC music code to sounds: lengths, accidentals, tuplets, broken rhythm, ties."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.tunes.abc_tokens import NOTE, SIGNS, TIME_OF, TOKEN, length_of
from tunememory.tunes.metre import bar_quarters, is_compound
from tunememory.tunes.pitch import Note, Pitch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

_HALF = Fraction(1, 2)
_COMMON = 960  # most note lengths are whole numbers of this part of a quarter: quick sums
_LOWEST, _HIGHEST = 0, 127
_SILENT = frozenset({"space", "text", "grace", "decoration", "skip"})
_BARS = frozenset({"bar", "ending", "alone"})


@dataclass(slots=True)
class Sound:
    """A note or a rest. Its length may still change while the next one is read.

    Attributes:
        pitch: ``None`` for a rest.
        quarters: Length in quarter notes.
        tied: Held into the next sound.
    """

    pitch: Pitch | None
    quarters: Fraction
    tied: bool = False


@dataclass(frozen=True, slots=True)
class BarLine:
    """A bar line as written (``":|"``), with the numbers of the ending that follows."""

    text: str
    ending: str = ""


@dataclass(frozen=True, slots=True)
class InlineField:
    """A field between square brackets (ABC 2.1, 3.2); its reader sets the melody's state."""

    letter: str
    value: str


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that could not be read.

    Attributes:
        text: The characters.
        place: Their index in the line.
        mild: A letter that stands for a decoration the reader need not know.
    """

    text: str
    place: int
    mild: bool = False


Event = Sound | BarLine | InlineField | Trouble


class Melody:
    """Reads lines of music code in order; keeps what one line leaves to the next.

    A field changes the state from the moment its event is taken: set ``alters``, ``unit`` or
    ``metre`` before taking the next event.

    Attributes:
        alters: Accidental of each letter in the signature, in semitones.
        metre: As in ``M:``.
        propagate: How far an accidental holds within its bar (ABC 2.1, 11.3): ``"pitch"`` all
            octaves of the letter, ``"octave"`` its own octave, ``"not"`` the note alone.
    """

    def __init__(self, alters: Mapping[str, int], unit: Fraction, metre: str) -> None:
        self.alters = alters
        self.metre = metre
        self._unit = unit
        self._lengths: dict[str, Fraction] = {}
        self.propagate = "pitch"
        self._bar_alters: dict[tuple[str, int], int] = {}
        self._last: Sound | None = None
        self._next_factor: Fraction | None = None
        self._tuplet_left = 0
        self._tuplet_factor = Fraction(1)
        self._overlay = False
        self._readers: dict[str, Callable[[re.Match[str]], Iterable[Event]]] = {
            **dict.fromkeys(("note", "times", "old_chord"), self._note),
            **dict.fromkeys(("rest_length", "bars_count"), self._rest),
            **dict.fromkeys(("tuplet", "time_of", "for_notes"), self._tuplet),
            "broken": self._broken,
            "tie": self._tie,
            "overlay": self._begin_overlay,
        }

    @property
    def unit(self) -> Fraction:
        """Unit note length in quarter notes."""
        return self._unit

    @unit.setter
    def unit(self, unit: Fraction) -> None:
        self._unit = unit
        self._lengths.clear()

    def read(self, line: str) -> Iterator[Event]:
        """Yield what ``line`` holds, in order. Never raises."""
        for token in TOKEN.finditer(line):
            group = token.lastgroup
            if group in _SILENT:
                continue
            if group in _BARS:
                self._overlay = False
                self._bar_alters.clear()
                yield BarLine(token["bar"] or "", token["ending"] or token["alone"] or "")
            elif group == "value":
                yield InlineField(token["field"], token["value"].strip())
            elif not self._overlay:
                yield from self._readers.get(group or "", _trouble)(token)

    def _tie(self, _token: re.Match[str]) -> Iterable[Event]:
        if self._last is not None and self._last.pitch is not None:
            self._last.tied = True
        return ()

    def _begin_overlay(self, _token: re.Match[str]) -> Iterable[Event]:
        # The other voices of the bar are not the melody (7.4).
        self._overlay = True
        return ()

    def _note(self, token: re.Match[str]) -> Iterable[Event]:
        if token["note"] is None:
            return self._chord(token)
        pitch = self._pitch(token["sign"], token["name"], token["marks"])
        if pitch is None:
            return _trouble(token)
        quarters = self._quarters(token["length"])
        if quarters is None:
            return (*_trouble(token), self._sound(pitch, self._unit))
        return (self._sound(pitch, quarters),)

    def _chord(self, token: re.Match[str]) -> Iterator[Event]:
        """The highest note of a chord; its length is the first note's (4.17)."""
        # Chord symbols and decorations may stand inside a chord.
        text = re.sub(r'"[^"]*"|![^!]*!', "", token["chord"] or token["old_chord"])
        notes = list(NOTE.finditer(text))
        pitches = [self._pitch(n["sign"], n["name"], n["marks"]) for n in notes]
        highest = max((p for p in pitches if p is not None), key=_midi, default=None)
        if highest is None:
            yield from _trouble(token)
            return
        length = length_of(notes[0]["length"])
        times = length_of(token["times"] or "")
        if length is None or times is None:
            yield from _trouble(token)
        sound = self._sound(highest, (length or 1) * (times or 1) * self._unit)
        sound.tied = notes[pitches.index(highest)]["tie"] == "-"
        yield sound

    def _rest(self, token: re.Match[str]) -> Iterable[Event]:
        if token["rest"]:
            quarters = self._quarters(token["rest_length"])
            return _trouble(token) if quarters is None else (self._sound(None, quarters),)
        bar = bar_quarters(self.metre) or Fraction(4)
        return (Sound(None, bar * int(token["bars_count"] or 1)),)

    def _quarters(self, text: str) -> Fraction | None:
        quarters = self._lengths.get(text)
        if quarters is None:
            length = length_of(text)
            if length is None:
                return None
            quarters = self._lengths[text] = length * self._unit
        return quarters

    def _sound(self, pitch: Pitch | None, quarters: Fraction) -> Sound:
        if self._next_factor is not None:
            quarters *= self._next_factor
            self._next_factor = None
        if self._tuplet_left:
            quarters *= self._tuplet_factor
            self._tuplet_left -= 1
        self._last = Sound(pitch, quarters)
        return self._last

    def _pitch(self, sign: str | None, letter: str, marks: str) -> Pitch | None:
        name = letter.upper()
        octave = 4 if letter == name else 5
        if marks:
            octave += marks.count("'") - marks.count(",")
        place = (name, octave if self.propagate == "octave" else 0)
        if sign is not None:
            alter = SIGNS[sign]
            if self.propagate != "not":
                self._bar_alters[place] = alter
        else:
            alter = self._bar_alters.get(place, self.alters.get(name, 0))
        if not 0 <= octave <= 9:
            return None
        pitch = _pitch(octave, name, alter)
        return pitch if _LOWEST <= pitch.midi <= _HIGHEST else None

    def _tuplet(self, token: re.Match[str]) -> Iterator[Event]:
        notes = int(token["tuplet"])
        if notes < 2:
            yield Trouble(token[0], token.start())
            return
        given = token["time_of"]
        time_of = int(given) if given else TIME_OF.get(notes, 3 if is_compound(self.metre) else 2)
        if time_of == 0:
            yield Trouble(token[0], token.start())
            return
        self._tuplet_left = int(token["for_notes"] or notes)
        self._tuplet_factor = Fraction(time_of, notes)

    def _broken(self, token: re.Match[str]) -> Iterator[Event]:
        signs = token["broken"]
        if self._last is None or self._next_factor is not None:
            yield Trouble(signs, token.start())
            return
        short = _HALF ** len(signs)
        first, second = (2 - short, short) if signs[0] == ">" else (short, 2 - short)
        self._last.quarters *= first
        self._next_factor = second


def _trouble(token: re.Match[str]) -> Iterable[Event]:
    return (Trouble(token[0], token.start(), mild=token.lastgroup == "letter"),)


@lru_cache(maxsize=512)
def _pitch(octave: int, name: str, alter: int) -> Pitch:
    return Pitch(octave, name, alter)


def _midi(pitch: Pitch) -> int:
    return pitch.midi


def join_sounds(sounds: Iterable[Sound]) -> tuple[Note, ...]:
    """Merge ties and let each rest lengthen the note before it; leading rests are left out."""
    notes: list[Note] = []
    held = False
    for sound in sounds:
        last = notes[-1] if notes else None
        if sound.pitch is None:
            held = False
            if last is not None:
                notes[-1] = Note(last.pitch, last.quarters + sound.quarters)
            continue
        # A tied note is written again without its accidental in the next bar, so the place on
        # the staff decides; the first note's pitch sounds on.
        if (
            held
            and last is not None
            and (last.pitch.letter, last.pitch.octave) == (sound.pitch.letter, sound.pitch.octave)
        ):
            notes[-1] = Note(last.pitch, last.quarters + sound.quarters)
        else:
            notes.append(Note(sound.pitch, sound.quarters))
        held = sound.tied
    return tuple(notes)


def sum_quarters(sounds: Iterable[Sound]) -> Fraction:
    """Length of ``sounds`` together, in quarter notes."""
    common, odd = 0, Fraction(0)
    for sound in sounds:
        times, rest = divmod(_COMMON, sound.quarters.denominator)
        if rest:
            odd += sound.quarters
        else:
            common += times * sound.quarters.numerator
    return odd + Fraction(common, _COMMON)
