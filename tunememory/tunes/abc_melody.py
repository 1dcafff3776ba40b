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
        unit: Unit note length in quarter notes.
        propagate: How far an accidental holds within its bar (ABC 2.1, 11.3): ``"pitch"`` all
            octaves of the letter, ``"octave"`` its own octave, ``"not"`` the note alone.
    """

    def __init__(self, alters: Mapping[str, int], unit: Fraction, metre: str) -> None:
        self.alters = alters
        self.unit = unit
        self.metre = metre
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

    def _note(self, token: re.Match[str]) -> Iterator[Event]:
        text = token["note"] or token["chord"] or token["old_chord"]
        highest: Pitch | None = None
        length: Fraction | None = None
        tied = False
        if token["note"] is None:
            # Chord symbols and decorations may stand inside a chord.
            text = re.sub(r'"[^"]*"|![^!]*!', "", text)
        for found in NOTE.finditer(text):
            pitch = self._pitch(found["sign"], found["letter"], found["marks"])
            if length is None:
                length = length_of(found["length"])
                if length is None:
                    yield Trouble(token[0], token.start())
                    length = Fraction(1)
            if pitch is not None and (highest is None or pitch.midi > highest.midi):
                highest, tied = pitch, found["tie"] == "-"
        if highest is None or length is None:
            yield Trouble(token[0], token.start())
            return
        times = length_of(token["times"] or "")
        if times is None:
            yield Trouble(token[0], token.start())
            times = Fraction(1)
        yield self._sound(highest, times * length, tied=tied)

    def _rest(self, token: re.Match[str]) -> Iterator[Event]:
        if token["rest"]:
            length = length_of(token["rest_length"])
            if length is None:
                yield Trouble(token[0], token.start())
            else:
                yield self._sound(None, length)
            return
        bar = bar_quarters(self.metre) or Fraction(4)
        yield Sound(None, bar * int(token["bars_count"] or 1))

    def _sound(self, pitch: Pitch | None, length: Fraction, *, tied: bool = False) -> Sound:
        quarters = _product(length, self.unit)
        if self._next_factor is not None:
            quarters *= self._next_factor
            self._next_factor = None
        if self._tuplet_left:
            quarters *= self._tuplet_factor
            self._tuplet_left -= 1
        self._last = Sound(pitch, quarters, tied)
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


@lru_cache(maxsize=1024)
def _product(length: Fraction, unit: Fraction) -> Fraction:
    return length * unit


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
