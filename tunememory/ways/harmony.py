"""Which chord goes under which notes.

The rule: a chord lasts half a bar of two or four beats, else a bar. It is the chord of the mode
(``DEGREES``) that holds most of the notes by length, the note on the beat counting half as much
again; among equals the chord before stays, else the one named first. Own rule, after common
practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tunememory.tunes.metre import bar_quarters, is_compound
from tunememory.tunes.pitch import LETTERS, SEMITONES
from tunememory.tunes.spelling import alters_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.tune import Start

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
    plain = type(key)(key.root, key.mode)
    alters = alters_of(plain)
    place = LETTERS.index(key.root[0]) + degree - 1
    names = [LETTERS[(place + third) % 7] for third in (0, 2, 4)]
    classes = [(SEMITONES[name] + alters[name]) % 12 for name in names]
    intervals = ((classes[1] - classes[0]) % 12, (classes[2] - classes[0]) % 12)
    if intervals not in _QUALITIES:
        return None
    alter = alters[names[0]]
    sign = "#" * alter if alter > 0 else "b" * -alter
    return Chord(names[0] + sign + _QUALITIES[intervals], (classes[0], classes[1], classes[2]))


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
    at = -start.pickup
    for note in start.notes:
        overlap = min(at + note.quarters, end) - max(at, begin)
        if overlap > 0:
            on_beat = at <= begin
            counted = overlap * (1 + _ON_THE_BEAT) if on_beat else overlap
            name = note.pitch.midi % 12
            weights[name] = weights.get(name, Fraction(0)) + counted
        at += note.quarters
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
