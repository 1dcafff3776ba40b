"""The melody of a score, as music21 holds it. Runs in the child process only.

music21 objects are ``Any`` here: the package has no types we may rely on.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING, Any

from tunememory.tunes.pitch import Note, Pitch
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

_MELODY_WORDS = ("melody", "tune", "fiddle", "violin", "whistle", "flute", "pipe", "voice",
                 "vocal", "lead", "solo")  # fmt: skip
_NO_BRACKETS = str.maketrans("", "", "[]")
_FEW = 3
_GRID = 960


@dataclass(frozen=True, slots=True)
class Tone:
    """A note of the melody, or a rest, within one measure.

    Attributes:
        pitch: ``None`` for a rest.
        quarters: Length in quarter notes.
        tied: Held into the next tone.
    """

    pitch: Pitch | None
    quarters: Fraction
    tied: bool = False


@dataclass(slots=True)
class Measure:
    """One measure of the melody.

    Attributes:
        tones: Notes and rests in order; they fill what of the measure is written.
        left: Bar line before it, as in ABC, where it is no plain one.
        right: Bar line after it, as in ABC.
        ending: Number of the ending that begins here, or empty.
        label: Rehearsal mark with letters, or empty.
        metre: New metre as in ``M:``, or empty.
        fifths: New signature, or ``None``.
        mode: Mode the file gives with the signature, or empty.
    """

    tones: list[Tone] = field(default_factory=list)
    left: str = ""
    right: str = "|"
    ending: str = ""
    label: str = ""
    metre: str = ""
    fifths: int | None = None
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Melody:
    """The melody of a score.

    Attributes:
        measures: In order.
        doubt: Which line was taken, where there was a choice.
    """

    measures: tuple[Measure, ...]
    doubt: str


def read_melody(score: Any, *, top_of_file: bool) -> Melody | None:
    """Return the melody of a score, or ``None`` where it has no pitched notes.

    Args:
        score: A music21 stream.
        top_of_file: Lines stand in score order, melody first, so the first is taken; otherwise
            (tracks in any order) the highest of those with enough notes. A line named for a
            melody or its instrument comes before both.
    """
    lines = [line for line in (list(score.parts) or [score]) if _pitches(line)]
    if not lines:
        return None
    chosen = _choose(lines, top_of_file=top_of_file)
    doubt = ""
    if len(lines) > 1:
        name = str(chosen.partName or "").strip()
        which = f"“{name[:40]}”" if name else f"number {lines.index(chosen) + 1}"
        doubt = f"the file has {len(lines)} lines of music; {which} was taken for the melody"
    return Melody(tuple(_measures(chosen)), doubt)


def _choose(lines: Sequence[Any], *, top_of_file: bool) -> Any:
    for word in _MELODY_WORDS:
        for line in lines:
            if word in str(line.partName or "").lower():
                return line
    if top_of_file:
        return lines[0]
    most = max(len(_pitches(line)) for line in lines)
    busy = [line for line in lines if _FEW * len(_pitches(line)) >= most]
    return max(busy, key=lambda line: median(_pitches(line)))


def _pitches(line: Any) -> list[int]:
    return [
        max(pitch.midi for pitch in element.pitches)
        for element in line.flatten().notes
        if element.pitches and not _is_symbol(element)
    ]


def _is_symbol(element: Any) -> bool:
    """Whether an element is a chord symbol, or played without pitch."""
    return "ChordSymbol" in element.classes or "PercussionChord" in element.classes


def _measures(line: Any) -> Iterator[Measure]:
    begins = _endings(line)
    found = list(line.getElementsByClass("Measure"))
    current: tuple[int, str] | None = None
    for place, source in enumerate(found):
        measure = Measure(tones=_top_line(source), ending=begins.get(id(source), ""))
        if source.timeSignature is not None:
            measure.metre = str(source.timeSignature.ratioString)
        measure.label = _label(source)
        signature = source.keySignature
        if signature is not None:
            fifths, mode = int(signature.sharps), str(getattr(signature, "mode", "") or "")
            if (fifths, mode) != current:
                measure.fifths, measure.mode = current = fifths, mode
        measure.left = _bar_line(source.leftBarline, "")
        measure.right = _bar_line(source.rightBarline, "|]" if place + 1 == len(found) else "|")
        yield measure


def _endings(line: Any) -> dict[int, str]:
    """Numbers of the endings by the measure they begin at."""
    brackets = line.recurse().getElementsByClass("RepeatBracket")
    return {
        id(bracket.getFirst()): "".join(c for c in str(bracket.number) if c.isdigit() or c in ",-")
        for bracket in brackets
        if bracket.getFirst() is not None
    }


def _label(measure: Any) -> str:
    """A rehearsal mark that names a part; numbers count bars, they name nothing."""
    for mark in measure.getElementsByClass("RehearsalMark"):
        label = clean_text(str(mark.content), limit=20).translate(_NO_BRACKETS)
        if label and not label.isdigit():
            return label
    return ""


def _bar_line(barline: Any, plain: str) -> str:
    if barline is None:
        return plain
    direction = getattr(barline, "direction", None)
    if direction is not None:
        return "|:" if direction == "start" else ":|"
    double = barline.type in {"double", "final", "heavy-light", "heavy-heavy", "heavy"}
    return "||" if double else plain


def _top_line(measure: Any) -> list[Tone]:
    """The highest notes of a measure, one at a time; gaps are rests."""
    sounding: list[tuple[Fraction, Fraction, Pitch, bool]] = []
    for element in sorted(measure.flatten().notes, key=_order):
        if element.duration.isGrace or not element.pitches or _is_symbol(element):
            continue
        top = max(element.pitches, key=lambda pitch: pitch.midi)
        begin = _fraction(element.offset)
        end = begin + _fraction(element.quarterLength)
        if end <= begin:
            continue
        if sounding and begin < sounding[-1][1]:
            before = sounding[-1]
            if before[2].midi >= top.midi or before[0] == begin:
                continue
            sounding[-1] = (before[0], begin, before[2], False)
        sounding.append((begin, end, _pitch(top), _tied(element)))
    tones: list[Tone] = []
    at = Fraction(0)
    for begin, end, pitch, tied in sounding:
        if begin > at:
            tones.append(Tone(None, begin - at))
        tones.append(Tone(pitch, end - begin, tied))
        at = end
    written = _fraction(measure.highestTime)
    if written > at:
        tones.append(Tone(None, written - at))
    return tones


def _order(element: Any) -> tuple[Fraction, int]:
    return _fraction(element.offset), -max((p.midi for p in element.pitches), default=0)


def _tied(element: Any) -> bool:
    return element.tie is not None and element.tie.type in {"start", "continue"}


def _fraction(length: Any) -> Fraction:
    return Fraction(length).limit_denominator(_GRID)


def _pitch(source: Any) -> Pitch:
    alter = int(source.alter)
    if abs(alter) > 2:
        source = source.getEnharmonic()
        alter = int(source.alter)
    return Pitch(int(source.octave if source.octave is not None else 4), str(source.step), alter)


def notes_of(melody: Melody) -> list[Note]:
    """The sounding notes, for guessing a key; ties are left apart."""
    return [
        Note(tone.pitch, tone.quarters)
        for measure in melody.measures
        for tone in measure.tones
        if tone.pitch is not None
    ]
