"""The body of an ABC tune as bars of sounds."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import takewhile
from typing import TYPE_CHECKING

from tunememory.music.abc.fields import DIRECTIVE, MUSIC
from tunememory.music.abc.key import KeyField, read_key
from tunememory.music.abc.notes import (
    TOKEN,
    BarLine,
    Event,
    InlineField,
    MelodyReader,
    Sound,
    sum_quarters,
)
from tunememory.music.metre import bar_quarters, unit_length

if TYPE_CHECKING:
    from tunememory.music.abc.fields import Line


_PICKUP = Fraction(3, 4)

TROUBLES_TOLD = 3
"""Unreadable places of one tune that are told one by one; the rest are counted."""


@dataclass(slots=True)
class Bar:
    """The sounds between two bar lines.

    Attributes:
        key: Signature in force at the first sound.
        metre: Metre in force, as in ``M:``.
        line: Line of the file it begins on.
        before: Bar lines between the sounds before and these, in order, each as written.
        ending: Numbers of the ending that begins here (``"1"``, ``"1,3"``), or empty.
        label: Part named here (``P:`` or ``T:`` in the body), or empty.
        sounds: Notes and rests, at least one.
        quarters: Length in quarter notes, rests included; set when the body is finished.
    """

    key: KeyField
    metre: str
    line: int
    before: list[str] = field(default_factory=list)
    ending: str = ""
    label: str = ""
    sounds: list[Sound] = field(default_factory=list)
    quarters: Fraction = Fraction(0)

    @property
    def full(self) -> Fraction | None:
        """Length a full bar has in this metre; ``None`` in free metre."""
        return bar_quarters(self.metre)

    @property
    def sounding(self) -> Fraction:
        """Length in quarter notes without the rests before the first note."""
        silent = takewhile(lambda sound: sound.pitch is None, self.sounds)
        return self.quarters - sum_quarters(silent)

    @property
    def is_pickup(self) -> bool:
        """Whether, as the first bar of a part, it is a pickup: under three quarters sound."""
        return self.full is not None and self.sounding < self.full * _PICKUP


class BodyReader:
    """Takes the lines of a tune's body in order.

    Attributes:
        bars: Finished bars; complete after ``finish``.
        closing: Bar lines after the last sound.
        doubts: What could not be read, each with its line.
        voices: Names of the voices met; only the first is read.
    """

    def __init__(self, key: KeyField, metre: str, unit: Fraction, voice: str = "") -> None:
        self.bars: list[Bar] = []
        self.closing: list[str] = []
        self.voices: list[str] = [voice] if voice else []
        self._key = key
        self._melody = MelodyReader(key.alters, 4 * unit, metre)
        self._bar = Bar(key, metre, 0)
        self._other_voice = False
        self._troubles: list[str] = []
        self._troubled = 0

    @property
    def doubts(self) -> tuple[str, ...]:
        """What could not be read, in order, one line each."""
        told = list(self._troubles)
        if self._troubled > len(told):
            told.append(f"{self._troubled - len(told)} more places could not be read")
        if len(self.voices) > 1:
            told.append("more than one voice: the first was read")
        return tuple(told)

    def take(self, line: Line) -> None:
        """Read one line. Never raises."""
        if line.letter == MUSIC:
            self._music(line)
        elif line.letter == DIRECTIVE:
            self._directive(line.text)
        else:
            self._field(line.letter, line.text, line.number)

    def finish(self) -> None:
        """Close the last bar."""
        if self._bar.sounds:
            self.bars.append(self._bar)
        else:
            self.closing = self._bar.before
        # Only now: broken rhythm over a bar line changes a finished bar.
        for bar in self.bars:
            bar.quarters = sum_quarters(bar.sounds)

    def _music(self, line: Line) -> None:
        text = line.text.rstrip().removesuffix("\\")
        if "|" not in text and not is_music(text):
            self._trouble(line.number, f"“{text.strip()[:40]}” is not music")
            return
        if not self._bar.sounds and text.lstrip()[:1].isdigit():
            # An ending's number that was parted from its bar line by the end of the line.
            text = f"|{text.lstrip()}"
        for event in self._melody.read(text):
            self._event(event, line.number)

    def _event(self, event: Event, number: int) -> None:
        if isinstance(event, InlineField):
            self._field(event.letter, event.value, number)
        elif self._other_voice:
            return
        elif isinstance(event, Sound):
            bar = self._bar
            if not bar.sounds:
                bar.line, bar.key, bar.metre = number, self._key, self._melody.metre
            bar.sounds.append(event)
        elif isinstance(event, BarLine):
            self._bar_line(event, number)
        elif not event.mild:
            self._trouble(number, f"could not read “{event.text}”")

    def _bar_line(self, event: BarLine, number: int) -> None:
        text = event.text
        if text == ":":
            text = ":|" if self._bar.sounds else "|:"
            self._trouble(number, f"a lone “:” was read as “{text}”")
        if self._bar.sounds:
            self.bars.append(self._bar)
            self._bar = Bar(self._key, self._melody.metre, 0)
        self._bar.before.append(text)
        self._bar.ending = event.ending or self._bar.ending

    def _field(self, letter: str, value: str, number: int) -> None:
        match letter:
            case "K":
                self._key = read_key(value)
                self._melody.alters = self._key.alters
                if self._key.doubt:
                    self._trouble(number, self._key.doubt)
            case "M":
                self._melody.metre = value
            case "L":
                unit = unit_length(value)
                if unit is None:
                    self._trouble(number, f"L:{value[:20]} is not a note length")
                else:
                    self._melody.unit = 4 * unit
            case "P" | "T" if value and not self._other_voice:
                self._label(value)
            case "V":
                self._voice(value)
            case "I":
                self._directive(value)

    def _label(self, value: str) -> None:
        if self._bar.sounds:
            # A part begins on a line of its own, whether or not a bar line closes the last.
            self.bars.append(self._bar)
            self._bar = Bar(self._key, self._melody.metre, 0)
        self._bar.label = value

    def _voice(self, value: str) -> None:
        name = (value.split() or [""])[0]
        if name not in self.voices:
            self.voices.append(name)
        self._other_voice = name != self.voices[0]

    def _directive(self, text: str) -> None:
        words = text.split()
        if len(words) == 2 and words[0] == "propagate-accidentals":
            self._melody.propagate = words[1]

    def _trouble(self, number: int, what: str) -> None:
        self._troubled += 1
        if len(self._troubles) < TROUBLES_TOLD:
            self._troubles.append(f"line {number}: {what}")


def is_music(text: str) -> bool:
    """Whether ``text`` is music code rather than words: most of its letters are notes.

    Words hold letters between H and W, which in music are rare decorations.
    """
    notes, other = 0, 0.0
    for token in TOKEN.finditer(text):
        group = token.lastgroup
        if group in {"note", "times", "rest_length", "old_chord"}:
            notes += 1
        elif group in {"letter", "other"}:
            other += 1
        elif group == "skip" and token[0].isalpha():
            other += 0.5
    return notes > other or not other
