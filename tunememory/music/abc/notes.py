"""ABC music code (ABC 2.1, chapter 4): read as sounds and notes, and notes written in it.

One regular expression covers every character of a line: what it cannot read comes out as
``other``, so nothing is skipped unseen.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.music.key import alters_of
from tunememory.music.metre import (
    bar_quarters,
    cut_bars,
    group_quarters,
    is_compound,
    unit_length,
    usual_bar,
)
from tunememory.music.pitch import MIDI_NUMBERS, SIGN_OF, SIGNS, Note, Pitch
from tunememory.music.spelling import BarAccidentals, abc_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from tunememory.music.key import Key
    from tunememory.music.metre import CutBar, Piece


# Every repetition is bounded or excludes its own opening sign: reading stays linear in the
# length of the line, whatever is on it.
_LENGTH = r"\d{0,12}(?:/+\d{0,12})?"
_SIGN = r"\^{1,2}|_{1,2}|="
_NOTE = rf"(?:{_SIGN})?[A-Ga-g][,']*{_LENGTH}"

TOKEN = re.compile(
    rf"""
      (?P<space>\s+|x(?=\s*[|:\]]))                        # an x before a bar carries a sign
    | (?P<note>(?P<sign>{_SIGN})?(?P<name>[A-Ga-g])(?P<marks>[,']*)(?P<length>{_LENGTH}))   # 4.1
    | \[(?P<field>[A-Za-z]):(?P<value>[^\[\]\n]*)\]          # 3.2 inline field
    | (?P<text>"[^"\n]*")                                  # 4.18, 4.19
    | (?P<bar>\.?(?:\[(?=\|)|[|:])(?:\[(?=\|)|[|:\]])*)
      (?:\s*\[?(?P<ending>\d{{1,3}}(?:[,-]\d{{1,3}})*))?    # 4.8, 4.9
    | \[(?P<alone>\d{{1,3}}(?:[,-]\d{{1,3}})*)              # an ending without its bar line
    | \[(?P<chord>[^\[\]|:\n]+)\](?P<times>{_LENGTH})      # 4.17
    | \((?P<tuplet>\d)(?::(?P<time_of>\d?)(?::(?P<for_notes>\d{{0,2}}))?)?   # 4.13
    | (?P<rest>[zx])(?P<rest_length>{_LENGTH})             # 4.5
    | (?P<bars>[ZX])(?P<bars_count>\d{{0,3}})
    | (?P<broken>>{{1,3}}|<{{1,3}})                          # 4.4
    | (?P<tie>-)                                           # 4.11
    | (?P<grace>\{{[^{{}}\n]*\}})                            # 4.12
    | \+(?P<old_chord>(?:{_NOTE}){{2,8}})\+                 # chords of ABC 1
    | (?P<decoration>![^!\s|\[\]]{{1,60}}!|\+[^+\s|\[\]]{{1,60}}\+)   # 4.14
    | (?P<skip>[().~HLMOPSTuv`$*;?@\#!]|y{_LENGTH}|\[(?="))  # 4.7, 4.9, 4.11, 4.14, 6.1.2, 8.1
    | (?P<letter>[H-Wh-w])                                 # 4.16, may mean anything
    | (?P<overlay>&)                                       # 7.4
    | (?P<other>\d+|.)
    """,
    re.VERBOSE,
)
"""One token of a line of music code. ``lastgroup`` tells which: the named group that closed
last in the alternative that matched (``"times"`` for a chord, ``"value"`` for an inline field)."""

NOTE = re.compile(
    rf"(?P<sign>{_SIGN})?(?P<name>[A-Ga-g])(?P<marks>[,']*)(?P<length>{_LENGTH})(?P<tie>-?)"
)
"""A note of a chord."""

TIME_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""Notes in whose time ``(p`` is played, where the metre does not matter (4.13)."""


_LONGEST = 1024
"""Unit lengths; anything longer is a slip, and would make a bar without end."""


@lru_cache(maxsize=1024)
def length_of(text: str) -> Fraction | None:
    """Note length in unit lengths (4.3), or ``None`` when it is zero, endless or absurd.

    >>> length_of(""), length_of("3"), length_of("/"), length_of("//"), length_of("3/2")
    (Fraction(1, 1), Fraction(3, 1), Fraction(1, 2), Fraction(1, 4), Fraction(3, 2))
    """
    number, slash, rest = text.partition("/")
    top = int(number) if number else 1
    if not slash:
        return Fraction(top) if 0 < top <= _LONGEST else None
    slashes = 1 + len(rest) - len(rest.lstrip("/"))
    digits = rest.lstrip("/")
    # ``A//`` halves twice; with a number the last stroke belongs to the number.
    bottom = 2 ** min(slashes - 1, 12) * int(digits) if digits else 2 ** min(slashes, 12)
    return Fraction(top, bottom) if 0 < top <= _LONGEST * bottom else None


_HALF = Fraction(1, 2)
_COMMON = 960  # most note lengths are whole numbers of this part of a quarter: quick sums
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


class MelodyReader:
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
        bar = usual_bar(self.metre)
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
        return pitch if pitch.midi in MIDI_NUMBERS else None

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


UNIT = Fraction(1, 8)
"""Unit note length of a start that does not say (``[L:1/16]``), of a whole note."""

_THIRD = Fraction(2, 3)


@dataclass(frozen=True, slots=True)
class ParsedNotes:
    """What a line of music code says.

    Attributes:
        notes: Ties merged, graces dropped, a chord as its highest note, rests added to the note
            before them.
        pickup: Quarter notes before the first bar line where that is less than a bar, else 0.
        problem: The first thing that could not be read, in one line; empty when all could.
    """

    notes: tuple[Note, ...]
    pickup: Fraction
    problem: str = ""


def parse_notes(
    text: str, key: Key | None, metre: str, unit: Fraction | None = None
) -> ParsedNotes:
    """Read ``text`` as ABC 2.1 music code (chapter 4). Never raises.

    Inline ``[L:…]`` and ``[M:…]`` fields are obeyed.

    Args:
        text: Music code, bar lines and all.
        key: Signature in force; ``None`` for none.
        metre: As in ``M:``; empty or unknown is free: bar lines then mean nothing for the pickup.
        unit: Unit note length as a fraction of a whole note; ``None`` is an eighth.
    """
    melody = MelodyReader(alters_of(key), 4 * (unit or UNIT), metre)
    sounds: list[Sound] = []
    problems: list[str] = []
    before_bar: Fraction | None = None
    bar_metre = metre
    for event in melody.read(text):
        match event:
            case Sound():
                sounds.append(event)
            case BarLine(":"):
                problems.append("“:” is no bar line; write “|:” or “:|”")
            case BarLine() if before_bar is None and sounds:
                before_bar = sum((note.quarters for note in join_sounds(sounds)), Fraction(0))
            case InlineField("L", value) if unit_length(value):
                melody.unit = 4 * (unit_length(value) or UNIT)
            case InlineField("M", value):
                melody.metre = value
                if not sounds:
                    bar_metre = value
            case InlineField(letter, value) if letter in "KL":
                problems.append(f"“[{letter}:{value}]” cannot be used here; leave it out")
            case Trouble():
                problems.append(
                    f"“{event.text}” at place {event.place + 1} is not a note; "
                    "notes are C to B and c to b"
                )
    bar = bar_quarters(bar_metre)
    pickup = Fraction(0)
    if bar is not None and before_bar is not None and before_bar < bar:
        pickup = before_bar
    return ParsedNotes(join_sounds(sounds), pickup, problems[0] if problems else "")


def write_notes(
    notes: Sequence[Note],
    *,
    pickup: Fraction,
    metre: str,
    key: Key | None,
    unit: Fraction = UNIT,
) -> str:
    """Write notes as ABC 2.1 music code that ``parse_notes`` reads back the same.

    Bar lines stand where the metre puts them (none in free metre), notes are grouped as in tune
    books, a note over a bar line is tied, three equal notes in the time of two are a triplet,
    dotted pairs are written ``A>B``.

    Args:
        notes: Melody notes; empty gives an empty text.
        pickup: Quarter notes before the first bar line; less than a bar, else it is left out.
        metre: As in ``M:``.
        key: Signature in force; ``None`` for none.
        unit: Unit note length as a fraction of a whole note. Any but an eighth is written in
            front (``[L:1/16]``).
    """
    writer = _Writer(alters_of(key), 4 * unit, group_quarters(metre))
    for bar in cut_bars(notes, pickup, metre):
        writer.bar(bar)
    prefix = "" if unit == UNIT or not notes else f"[L:{unit.numerator}/{unit.denominator}]"
    return prefix + "".join(writer.parts).strip()


class BarSpelling(BarAccidentals):
    """Writes notes with the accidentals they need after those before them in the bar."""

    def note(self, pitch: Pitch, *, held: bool = False) -> str:
        """Return the note without its length; a held one is written without accidental."""
        sign = None if held else self.before(pitch)
        return abc_name(pitch) if sign is None else SIGN_OF[sign] + abc_name(pitch)


def write_length(units: Fraction) -> str:
    """Return a length in unit lengths as in ABC (4.3): ``""``, ``"3"``, ``"/"``, ``"3/"``."""
    top, bottom = units.numerator, units.denominator
    if bottom == 1:
        return "" if top == 1 else str(top)
    return f"{'' if top == 1 else top}/{'' if bottom == 2 else bottom}"


class _Writer:
    def __init__(self, alters: Mapping[str, int], unit: Fraction, group: Fraction) -> None:
        self.parts: list[str] = []
        self._spelling = BarSpelling(alters)
        self._unit = unit
        self._dotted = {unit * 3 / 2, unit / 2}
        self._group = group

    def bar(self, bar: CutBar) -> None:
        place = 0
        while place < len(bar.pieces):
            piece = bar.pieces[place]
            if piece.at % self._group == 0 and place:
                self.parts.append(" ")
            if self._is_triplet(bar.pieces[place : place + 3]):
                self.parts.append("(3")
                for inner in bar.pieces[place : place + 3]:
                    self._write(inner, inner.quarters / _THIRD)
                place += 3
            elif self._is_broken(bar.pieces[place : place + 2]):
                second = bar.pieces[place + 1]
                self._write(piece, self._unit)
                self.parts.append(">" if piece.quarters > second.quarters else "<")
                self._write(second, self._unit)
                place += 2
            else:
                self._write(piece, piece.quarters)
                place += 1
        if bar.closed:
            self.parts.append("|")
            self._spelling.end_bar()

    def _is_triplet(self, three: Sequence[Piece]) -> bool:
        """Whether the pieces are three equal notes whose plain length is two thirds as long."""
        first = three[0].quarters
        if first.denominator % 3 or len(three) < 3:
            return False
        if any(piece.quarters != first or not piece.whole for piece in three):
            return False
        return (first / self._unit / _THIRD).denominator in {1, 2, 4, 8}

    def _is_broken(self, two: Sequence[Piece]) -> bool:
        """Whether the pieces are two notes that share two unit lengths three to one."""
        return (
            len(two) == 2
            and {two[0].quarters, two[1].quarters} == self._dotted
            and two[0].whole
            and two[1].whole
        )

    def _write(self, piece: Piece, quarters: Fraction) -> None:
        self.parts.append(self._spelling.note(piece.pitch, held=piece.held))
        self.parts.append(write_length(quarters / self._unit) + ("-" if piece.tied else ""))
