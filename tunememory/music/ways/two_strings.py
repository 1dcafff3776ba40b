"""Two strings at once: an open one that drones, or two fingers.

Common practice of fiddlers, no source; which double stop is easiest is our own order.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.music.fingering import drone_strings, easy_drones_words, fingering
from tunememory.music.forms import bar_starts, fingers_of, letters_of
from tunememory.music.key import alters_of
from tunememory.music.pitch import SEMITONES
from tunememory.music.spelling import abc_letter, spell
from tunememory.music.strings import midi_at, place_name, place_on
from tunememory.music.ways.chords import Span, chord_at, harmony
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
    from tunememory.music.key import Key
    from tunememory.music.strings import Place, Tuning
    from tunememory.music.tune import Start
    from tunememory.music.ways.material import Subject


NONE = "–"
"""Stands where no string goes with the note."""

LONG = Fraction(1)
"""A note is long from a quarter on."""

_SHOWN = 2
_WIDEST = 5
"""Semitones between the two stops the hand takes without a stretch."""

CONSONANT = {3: 0, 4: 0, 8: 0, 9: 0, 12: 1, 5: 2, 7: 2}
"""Semitones between the two notes, and how late they are chosen: thirds and sixths, octaves,
then fourths and fifths."""


def drones(subject: Subject) -> Material:
    """An open string to sound with each note of the starts."""
    heading = "Open strings under it"
    key = subject.tune.key
    if not subject.starts:
        return nothing(heading, NO_START)
    if key is None:
        return nothing(heading, NO_KEY)
    tuning = subject.tuning
    if not drone_strings(key.root_class, tuning):
        return nothing(heading, f"No open string of {tuning.letters} drones under {key.root}.")
    easy = easy_drones_words(key.root_class, tuning)
    lines = list(prose(f"Easiest: {easy}.")) if easy else []
    pieces: list[Piece] = []
    for piece in subject.pieces:
        start = piece.start
        with_it = drone_with(start, start.key or key, tuning, piece.metre)
        rows = {
            "letters": letters_of(start.notes, start.key),
            "fingers": fingers_of(start.notes, tuning, piece.metre),
            "open": tuple(
                NONE if string is None else tuning.string_names[string] for string in with_it
            ),
        }
        lines += [piece.label, *rows_of(rows, piece)]
        under = tuple(() if s is None else (tuning.strings[s],) for s in with_it)
        pieces.append(replace(piece, label=f"{piece.label} over drones", under=under))
    lines += prose("Bow both strings; lean on the melody, let the open string hum.")
    return Material(heading, tuple(lines), tuple(pieces))


def drone_with(start: Start, key: Key, tuning: Tuning, metre: str) -> tuple[int | None, ...]:
    """Return for each note the open string beside it that drones on the root, else the fifth.

    Of two equally good the lower. ``None`` where neither neighbour does.
    """
    strings = drone_strings(key.root_class, tuning)
    chosen: list[int | None] = []
    for place in fingering(start.notes, tuning, metre).places:
        beside = [] if place is None else [place.string - 1, place.string + 1]
        chosen.append(next((string for string in strings if string in beside), None))
    return tuple(chosen)


def double_stops(subject: Subject) -> Material:
    """For each note of the starts to lean on, the two easiest second notes, with fingers."""
    heading = "Double stops on the long notes"
    if not subject.starts:
        return nothing(heading, NO_START)
    if all(start.key is None for start in subject.starts):
        return nothing(heading, NO_KEY)
    tuning = subject.tuning
    lines: list[str] = []
    pieces: list[Piece] = []
    for piece in subject.pieces:
        start = piece.start
        if start.key is None:
            continue
        found = stops_for(start, start.key, tuning, piece.metre)
        if not any(found):
            continue
        lines.append(piece.label)
        fingers = fingers_of(start.notes, tuning, piece.metre)
        for number, stops in enumerate(found):
            if stops:
                note = start.notes[number]
                told = " or ".join(_stop_words(stop, start.key, tuning) for stop in stops)
                lines += prose(
                    f"  note {number + 1}, {abc_letter(note.pitch, start.key)} on "
                    f"{fingers[number]}: {told}",
                    "    ",
                )
        under = tuple((midi_at(stops[0], tuning),) if stops else () for stops in found)
        pieces.append(replace(piece, label=f"{piece.label} with double stops", under=under))
    if not lines:
        return nothing(heading, "In this tuning no second note lies under the hand.")
    return Material(heading, tuple(lines), tuple(pieces))


def stops_for(start: Start, key: Key, tuning: Tuning, metre: str) -> tuple[tuple[Place, ...], ...]:
    """Return where up to two second notes lie for each note to lean on, the best first; else none.

    Those are the long notes (``LONG``), or where there is none the first note of each bar.
    The second note lies on a neighbouring string, within a hand's width, is a note of the chord
    there (of the key where no chord is known), and makes a consonance (``CONSONANT``). Thirds
    and sixths come before others, then what needs no second finger on the same spot, then the
    nearer finger.
    """
    spans = harmony(start, key, metre)
    places = fingering(start.notes, tuning, metre).places
    leaned_on = _leaned_on(start, metre)
    found: list[tuple[Place, ...]] = []
    for number, ((at, _), place) in enumerate(zip(start.onsets, places, strict=True)):
        if number in leaned_on and place is not None:
            classes = _classes_at(spans, at, key)
            found.append(_stops(place, classes, key, tuning)[:_SHOWN])
        else:
            found.append(())
    return tuple(found)


def _leaned_on(start: Start, metre: str) -> frozenset[int]:
    """Numbers of the long notes, or of those that begin a bar where none is long."""
    long = frozenset(i for i, note in enumerate(start.notes) if note.quarters >= LONG)
    if long:
        return long
    first = frozenset() if start.pickup else frozenset({0})
    return first | frozenset(bar_starts(start.notes, start.pickup, metre))


def _classes_at(spans: tuple[Span, ...], at: Fraction, key: Key) -> frozenset[int]:
    chord = chord_at(spans, at)
    if chord is not None:
        return frozenset(chord.classes)
    return frozenset((SEMITONES[letter] + alter) % 12 for letter, alter in alters_of(key).items())


def _stops(place: Place, classes: frozenset[int], key: Key, tuning: Tuning) -> tuple[Place, ...]:
    melody = midi_at(place, tuning)
    found: list[tuple[tuple[int, bool, int, int], Place]] = []
    for string in (place.string - 1, place.string + 1):
        if not 0 <= string < len(tuning.strings):
            continue
        for apart in (apart for by in CONSONANT for apart in (by, -by)):
            midi = melody + apart
            other = place_on(string, spell(midi, key), tuning)
            if other is None or midi % 12 not in classes or not _playable(place, other):
                continue
            same_spot = place.finger == other.finger != 0
            further = abs(other.semitones - place.semitones)
            rank = (CONSONANT[abs(apart)], same_spot, further, string)
            found.append((rank, other))
    return tuple(stop for _, stop in sorted(found, key=lambda one: one[0]))


def _playable(one: Place, other: Place) -> bool:
    if 0 in {one.semitones, other.semitones}:
        return True
    if one.finger == other.finger:
        # One finger can stop two strings only side by side.
        return one.semitones == other.semitones
    return abs(one.semitones - other.semitones) <= _WIDEST


def _stop_words(stop: Place, key: Key, tuning: Tuning) -> str:
    return f"{place_name(stop, tuning)} ({abc_letter(spell(midi_at(stop, tuning), key), key)})"
