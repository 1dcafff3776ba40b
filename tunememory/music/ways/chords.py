"""Chords for accompaniment, and the melody with chords strummed between its notes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import product
from typing import TYPE_CHECKING

from tunememory.music.forms import letters_of
from tunememory.music.key import Key, root_name
from tunememory.music.metre import bar_quarters, group_quarters, is_compound
from tunememory.music.pitch import LETTERS, SEMITONES, Note
from tunememory.music.strings import STANDARD
from tunememory.music.tune import Start
from tunememory.music.ways.material import (
    NO_KEY,
    NO_START,
    Material,
    Piece,
    nothing,
    prose,
    rows_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tunememory.music.strings import Tuning
    from tunememory.music.ways.material import Subject


DEGREES = {
    "major": (1, 4, 5),
    "mixolydian": (1, 7, 4),
    "dorian": (1, 7, 4),
    "minor": (1, 7, 6, 4),
    "phrygian": (1, 2, 7),
    "lydian": (1, 2, 5),
    "locrian": (1, 5, 2),
}
"""Steps of the mode on which its chords stand, the commonest first: common practice, no source."""

_QUALITIES = {(4, 7): "", (3, 7): "m", (3, 6): "dim"}
_ON_THE_BEAT = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord of three notes.

    Attributes:
        name: As players write it: ``"G"``, ``"Em"``, ``"F#dim"``.
        classes: Pitch classes of root, third and fifth.
    """

    name: str
    classes: tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Span:
    """A chord and how long it lasts.

    Attributes:
        begin: Quarters from the first bar line.
        end: Where the next begins.
        chord: What sounds.
    """

    begin: Fraction
    end: Fraction
    chord: Chord


def chord_on(key: Key, degree: int) -> Chord | None:
    """Return the chord on a step of the mode, 1 to 7; ``None`` where it is none of ours.

    Changes of the signature are passed over: they belong to the melody.
    """
    alters = Key(key.root, key.mode).alters()
    place = LETTERS.index(key.root[0]) + degree - 1
    names = [LETTERS[(place + third) % 7] for third in (0, 2, 4)]
    classes = [(SEMITONES[name] + alters[name]) % 12 for name in names]
    intervals = ((classes[1] - classes[0]) % 12, (classes[2] - classes[0]) % 12)
    if intervals not in _QUALITIES:
        return None
    root = root_name(names[0], alters[names[0]])
    return Chord(root + _QUALITIES[intervals], (classes[0], classes[1], classes[2]))


@lru_cache(maxsize=128)
def chords_of(key: Key) -> tuple[Chord, ...]:
    """Return the chords of a mode, the commonest first."""
    found = (chord_on(key, degree) for degree in DEGREES[key.mode])
    return tuple(chord for chord in found if chord is not None)


def harmony(start: Start, key: Key, metre: str) -> tuple[Span, ...]:
    """Return the chords under a start, from its first bar line on; the pickup has none.

    Empty in free metre.
    """
    bar = bar_quarters(metre)
    if bar is None:
        return ()
    halved = bar in {3, 6} if is_compound(metre) else bar == 4
    length = bar / 2 if halved else bar
    total = sum((note.quarters for note in start.notes), -start.pickup)
    spans: list[Span] = []
    begin = Fraction(0)
    while begin < total:
        end = min(begin + length, total)
        weights = _weights(start, begin, end)
        best = _best(chords_of(key), weights, spans[-1].chord if spans else None)
        spans.append(Span(begin, end, best))
        begin = end
    return tuple(spans)


def _weights(start: Start, begin: Fraction, end: Fraction) -> dict[int, Fraction]:
    """How long each pitch class sounds in a span, more for what sounds on its beat."""
    weights: dict[int, Fraction] = {}
    for at, note in start.onsets:
        overlap = min(at + note.quarters, end) - max(at, begin)
        if overlap > 0:
            on_beat = at <= begin
            counted = overlap * (1 + _ON_THE_BEAT) if on_beat else overlap
            name = note.pitch.midi % 12
            weights[name] = weights.get(name, Fraction(0)) + counted
    return weights


def _best(chords: Sequence[Chord], weights: dict[int, Fraction], before: Chord | None) -> Chord:
    return max(
        chords,
        key=lambda chord: (
            sum((weights.get(c, Fraction(0)) for c in chord.classes), Fraction(0)),
            chord == before,
            -chords.index(chord),
        ),
    )


def joined(spans: Sequence[Span]) -> tuple[Span, ...]:
    """Return spans with neighbours of one chord made one."""
    merged: list[Span] = []
    for span in spans:
        if merged and merged[-1].chord == span.chord:
            merged[-1] = Span(merged[-1].begin, span.end, span.chord)
        else:
            merged.append(span)
    return tuple(merged)


MANDOLIN = {
    "G": (0, 0, 2, 3), "C": (0, 2, 3, 0), "D": (2, 0, 0, 2), "A": (2, 2, 4, 5),
    "E": (1, 2, 2, 0), "F": (5, 3, 0, 1), "Bb": (3, 0, 1, 1), "Em": (0, 2, 2, 0),
    "Am": (2, 2, 3, 0), "Bm": (4, 0, 2, 2), "Dm": (2, 0, 0, 1), "Gm": (0, 0, 1, 3),
}  # fmt: skip
"""Frets from the low string on in GDAE: common practice, no source."""

_HIGHEST_FRET = 5
_WIDEST = 3
"""Frets the hand covers beyond the first it stops."""
_FINGERS = 4
_MOST_STRINGS = 5


def shape_of(chord: Chord, tuning: Tuning) -> tuple[int, ...] | None:
    """Return the frets of a chord, low string first, every string sounding.

    In standard tuning the usual shape; elsewhere the one found by ``easiest``. ``None`` where
    the hand cannot take it, or on more than five strings.
    """
    usual = MANDOLIN.get(chord.name) if tuning == STANDARD else None
    return usual or easiest(chord.classes, tuning)


@lru_cache(maxsize=512)
def easiest(classes: tuple[int, int, int], tuning: Tuning) -> tuple[int, ...] | None:
    """Return the shape that stops least: fewest strings stopped, then lowest frets.

    It holds root and third, and the fifth where that is possible.
    """
    if len(tuning.strings) > _MOST_STRINGS:
        return None
    fitting = [
        [fret for fret in range(_HIGHEST_FRET + 1) if (string + fret) % 12 in classes]
        for string in tuning.strings
    ]
    shapes = [shape for shape in product(*fitting) if _holds(shape, classes, tuning)]
    if not shapes:
        return None
    return min(shapes, key=lambda shape: _rank(shape, classes, tuning))


def sounding(shape: Sequence[int], tuning: Tuning) -> tuple[int, ...]:
    """Return the MIDI numbers of a shape, low string first."""
    return tuple(string + fret for string, fret in zip(tuning.strings, shape, strict=True))


def _shape_text(shape: Sequence[int]) -> str:
    """Return the frets as players write them: ``"0023"``."""
    return "".join(map(str, shape))


def _holds(shape: Sequence[int], classes: tuple[int, int, int], tuning: Tuning) -> bool:
    heard = {pitch % 12 for pitch in sounding(shape, tuning)}
    stopped = [fret for fret in shape if fret]
    return (
        {classes[0], classes[1]} <= heard
        and len(stopped) <= _FINGERS
        and (not stopped or max(stopped) - min(stopped) <= _WIDEST)
    )


def _rank(
    shape: Sequence[int], classes: tuple[int, int, int], tuning: Tuning
) -> tuple[bool, int, int, Sequence[int]]:
    heard = {pitch % 12 for pitch in sounding(shape, tuning)}
    return (classes[2] not in heard, sum(fret > 0 for fret in shape), sum(shape), shape)


_FREE = "The metre is not known, so no chord can be placed; add it to the tune."
STRUM = "×"
"""Stands in the row of chords where the chord is struck again."""


def chords(subject: Subject) -> Material:
    """The chords under every start, and a shape for each."""
    heading = "Chords to go under it"
    wrong = _cannot(subject, heading)
    if wrong is not None:
        return wrong
    lines: list[str] = []
    pieces: list[Piece] = []
    used: dict[str, Chord] = {}
    for piece in subject.pieces:
        start = piece.start
        if start.key is None:
            continue
        spans = harmony(start, start.key, piece.metre)
        used |= {span.chord.name: span.chord for span in spans}
        rows = {
            "chords": tuple(
                "/".join(chord.name for chord in begun) for begun in _struck(start, joined(spans))
            ),
            "letters": letters_of(start.notes, start.key),
        }
        lines += [piece.label, *rows_of(rows, piece)]
        pieces.append(_accompanied(piece, spans, subject.tuning))
    lines += shape_lines(used.values(), subject.tuning)
    return Material(heading, tuple(lines), tuple(pieces))


def strummed(subject: Subject) -> Material:
    """The first start with its chord struck in the second half of every long note.

    Long is a quarter, in jigs a dotted quarter.
    """
    heading = "Melody with chords between"
    wrong = _cannot(subject, heading)
    if wrong is not None:
        return wrong
    start = next(start for start in subject.starts if start.key is not None)
    assert start.key is not None  # noqa: S101 - chosen so
    metre = start.metre_in(subject.tune.metre)
    notes, strikes = between(start, harmony(start, start.key, metre), metre)
    rows = {
        "letters": tuple(
            STRUM if struck else letter
            for letter, struck in zip(letters_of(notes, start.key), strikes, strict=True)
        ),
        "chords": tuple(chord.name if chord else "" for chord in strikes),
    }
    shapes = {c.name: c for c in strikes if c is not None}
    if not shapes:
        return nothing(heading, "No note of this start is long enough for a chord.")
    under = tuple(_pitches(chord, subject.tuning) if chord else () for chord in strikes)
    piece = Piece(heading, Start(start.part, notes, start.pickup, key=start.key), metre, under)
    lines = [
        *prose(f"Play the melody; where {STRUM} stands strike the chord named under it."),
        f"{start.part} start",
        *rows_of(rows, piece),
        *shape_lines(shapes.values(), subject.tuning),
    ]
    return Material(heading, tuple(lines), (piece,))


def between(
    start: Start, spans: Sequence[Span], metre: str
) -> tuple[tuple[Note, ...], tuple[Chord | None, ...]]:
    """Part every note of a beat or longer; return the notes, and the chord struck on each.

    The first half of such a note (two thirds in compound metre) is the melody's, the rest the
    chord's. Other notes, and the pickup, are left whole and have no chord.
    """
    compound = is_compound(metre)
    beat = group_quarters(metre) if compound else Fraction(1)
    share = Fraction(2, 3) if compound else Fraction(1, 2)
    notes: list[Note] = []
    strikes: list[Chord | None] = []
    for at, note in start.onsets:
        first = note.quarters * share
        chord = chord_at(spans, at + first) if at >= 0 and note.quarters >= beat else None
        if chord is None:
            notes.append(note)
            strikes.append(None)
        else:
            notes += [Note(note.pitch, first), Note(note.pitch, note.quarters - first)]
            strikes += [None, chord]
    return tuple(notes), tuple(strikes)


def shape_lines(chords: Iterable[Chord], tuning: Tuning) -> list[str]:
    """Return the shape of each chord, frets from the low string on, as lines."""
    told = []
    for chord in chords:
        shape = shape_of(chord, tuning)
        told.append(f"{chord.name} {_shape_text(shape) if shape else 'no easy shape'}")
    return prose(f"Frets from the low string of {tuning.letters}: {', '.join(told)}.", "  ")


def _cannot(subject: Subject, heading: str) -> Material | None:
    if not subject.starts:
        return nothing(heading, NO_START)
    if all(start.key is None for start in subject.starts):
        return nothing(heading, NO_KEY)
    if bar_quarters(subject.tune.metre) is None:
        return nothing(heading, _FREE)
    return None


def chord_at(spans: Iterable[Span], at: Fraction) -> Chord | None:
    """Return the chord that sounds so many quarters from the first bar line."""
    return next((span.chord for span in spans if span.begin <= at < span.end), None)


def _struck(start: Start, spans: Iterable[Span]) -> Iterator[list[Chord]]:
    """For each note the chords that begin while it sounds."""
    waiting = list(spans)
    for at, note in start.onsets:
        begun: list[Chord] = []
        while waiting and waiting[0].begin < at + note.quarters:
            begun.append(waiting.pop(0).chord)
        yield begun


def _accompanied(piece: Piece, spans: Sequence[Span], tuning: Tuning) -> Piece:
    """The start with its chord struck under the note that sounds where the chord begins."""
    under = tuple(
        _pitches(begun[-1], tuning) if begun else () for begun in _struck(piece.start, spans)
    )
    return replace(piece, label=f"{piece.label} with chords", under=under)


def _pitches(chord: Chord, tuning: Tuning) -> tuple[int, ...]:
    shape = shape_of(chord, tuning)
    return sounding(shape, tuning) if shape else ()
