"""Chords for accompaniment, and the melody with chords strummed between its notes."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.metre import bar_quarters, group_quarters, is_compound
from tunememory.tunes.pitch import Note
from tunememory.tunes.shown import letters_of
from tunememory.tunes.tune import Start
from tunememory.ways.harmony import Chord, Span, harmony, joined
from tunememory.ways.material import (
    NO_KEY,
    NO_START,
    Material,
    Piece,
    nothing,
    prose,
    rows_of,
)
from tunememory.ways.shapes import shape_of, shape_text, sounding

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tunememory.tunes.tuning import Tuning
    from tunememory.ways.material import Subject

_FREE = "The metre is not known, so no chord can be placed; add it to the tune."
STRUM = "×"
"""Stands in the row of chords where the chord is struck again."""


def chords(subject: Subject) -> Material:
    """The chords under every start, and a shape for each."""
    heading = "Chords to go under it"
    wrong = _cannot(subject, "chords", heading)
    if wrong is not None:
        return wrong
    lines: list[str] = []
    pieces: list[Piece] = []
    used: dict[str, Chord] = {}
    for start in subject.starts:
        if start.key is None:
            continue
        metre = start.metre_in(subject.tune.metre)
        spans = harmony(start, start.key, metre)
        used |= {span.chord.name: span.chord for span in spans}
        rows = {
            "chords": _over_notes(start, joined(spans)),
            "letters": letters_of(start.notes, start.key),
        }
        lines += [f"{start.part} start", *rows_of(rows, start.notes, start.pickup, metre)]
        pieces.append(_accompanied(start, spans, subject.tuning, metre))
    lines += shape_lines(used.values(), subject.tuning)
    return Material("chords", heading, tuple(lines), tuple(pieces))


def strummed(subject: Subject) -> Material:
    """The first start with its chord struck in the second half of every long note.

    Long is a quarter, in jigs a dotted quarter.
    """
    heading = "Melody with chords between"
    wrong = _cannot(subject, "strum", heading)
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
        return nothing("strum", heading, "No note of this start is long enough for a chord.")
    lines = [
        *prose(f"Play the melody; where {STRUM} stands strike the chord named under it."),
        f"{start.part} start",
        *rows_of(rows, notes, start.pickup, metre),
        *shape_lines(shapes.values(), subject.tuning),
    ]
    under = tuple(_pitches(chord, subject.tuning) if chord else () for chord in strikes)
    piece = Piece(heading, Start(start.part, notes, start.pickup, key=start.key), metre, under)
    return Material("strum", heading, tuple(lines), (piece,))


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
    at = -start.pickup
    for note in start.notes:
        first = note.quarters * share
        chord = _sounding_at(spans, at + first) if at >= 0 and note.quarters >= beat else None
        if chord is None:
            notes.append(note)
            strikes.append(None)
        else:
            notes += [Note(note.pitch, first), Note(note.pitch, note.quarters - first)]
            strikes += [None, chord]
        at += note.quarters
    return tuple(notes), tuple(strikes)


def shape_lines(chords: Iterable[Chord], tuning: Tuning) -> list[str]:
    """Return the shape of each chord, frets from the low string on, as lines."""
    told = []
    for chord in chords:
        shape = shape_of(chord, tuning)
        told.append(f"{chord.name} {shape_text(shape) if shape else 'no easy shape'}")
    return prose(f"Frets from the low string of {tuning.letters}: {', '.join(told)}.", "  ")


def _cannot(subject: Subject, way: str, heading: str) -> Material | None:
    if not subject.starts:
        return nothing(way, heading, NO_START)
    if all(start.key is None for start in subject.starts):
        return nothing(way, heading, NO_KEY)
    if bar_quarters(subject.tune.metre) is None:
        return nothing(way, heading, _FREE)
    return None


def _sounding_at(spans: Iterable[Span], at: Fraction) -> Chord | None:
    return next((span.chord for span in spans if span.begin <= at < span.end), None)


def _over_notes(start: Start, spans: Iterable[Span]) -> tuple[str, ...]:
    """Name of the chord over the first note that begins in its span, else over none."""
    waiting = list(spans)
    names: list[str] = []
    at = -start.pickup
    for note in start.notes:
        name = ""
        while waiting and waiting[0].begin < at + note.quarters:
            name = f"{name}{waiting.pop(0).chord.name}/"
        names.append(name.rstrip("/"))
        at += note.quarters
    return tuple(names)


def _accompanied(start: Start, spans: Sequence[Span], tuning: Tuning, metre: str) -> Piece:
    """The start with its chord struck under the note that sounds where the chord begins."""
    under: list[tuple[int, ...]] = []
    waiting = list(spans)
    at = -start.pickup
    for note in start.notes:
        struck: tuple[int, ...] = ()
        while waiting and waiting[0].begin < at + note.quarters:
            struck = _pitches(waiting.pop(0).chord, tuning)
        under.append(struck)
        at += note.quarters
    return Piece(f"{start.part} start with chords", start, metre, tuple(under))


def _pitches(chord: Chord, tuning: Tuning) -> tuple[int, ...]:
    shape = shape_of(chord, tuning)
    return sounding(shape, tuning) if shape else ()
