"""Finding a tune from its first few notes, in any key, a slip forgiven.

Notes are compared as places on the staff, counted from one of the first two, so neither the key
nor its sharps and flats matter. A first look counts for every start how many of the notes agree
in order, one note left out or put in allowed; the best are then measured by their edit distance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from tunememory.tunes.pitch import Note, Pitch
    from tunememory.tunes.tune import Tune

    Small = NDArray[np.int8]
    Numbers = NDArray[np.intp]

LEAST_NOTES = 4
"""So many notes must be typed. In a repertoire of 400 starts four leave a list of five in two
cases of three, six in 99 of 100."""

MOST_NOTES = 12
"""Further notes are not looked at."""

_KEPT = MOST_NOTES + 2
_LOOKED_AT = 200
_PAD = 127

_WRONG, _NEARLY, _EXTRA, _MISSING = 1.0, 0.95, 0.9, 0.8
"""Cost of a wrong note, one up to two places off, one too many, one left out. What is likelier
by chance costs more: a note left out fits in one way only, a wrong one in many."""

_OCTAVE = 0.1
"""Cost of a note in another octave: letters are often typed without octaves."""

_SEMITONE = 0.2
"""Cost of a note on the right place with another accidental, where accidentals are meant."""

_OTHER_LETTERS = 0.2
"""How much nearer a start must be to come first although its letters are not those typed: the
notes are mostly typed in the key the tune is played in."""

_UNWRITTEN = 0.3
"""Cost of a typed note where the start kept is already at its end."""


@dataclass(frozen=True, slots=True)
class Found:
    """A start that begins like the notes typed.

    Attributes:
        tune: Identity of the tune.
        part: The part whose start it is.
        distance: 0 for the very notes, 1 for one wrong, missing or extra note, a little for
            octaves.
    """

    tune: str
    part: str
    distance: float


def allowed(count: int) -> float:
    """Distance up to which starts are offered for ``count`` notes typed.

    One slip from six notes on, where five more still tell tunes apart; two of twelve.
    """
    if count < 6:
        return 0.5
    return 1.6 + max(0, count - 8) * 0.25


class NoteIndex:
    """The starts of a repertoire, ready to be searched. It is never changed, only replaced.

    A start with a pickup is kept both with and without it.
    """

    def __init__(self, tunes: Iterable[Tune]) -> None:
        """Prepare every start of at least ``LEAST_NOTES`` notes."""
        self._owners: list[tuple[str, str]] = []
        kinds: list[str] = []
        lines: list[list[Pitch]] = []
        for tune in tunes:
            for start in tune.starts:
                pickup = _pickup_notes(start.notes, start.pickup)
                for notes in (start.notes, start.notes[pickup:])[: 1 + bool(pickup)]:
                    if len(notes) >= LEAST_NOTES:
                        self._owners.append((tune.uuid, start.part))
                        kinds.append(tune.kind.casefold())
                        lines.append([note.pitch for note in notes[:_KEPT]])
        self._kinds = np.array(kinds, dtype=np.str_)
        self._lengths = np.array([len(line) for line in lines], dtype=np.intp)
        # On their side, a row for each place: then every comparison runs along the starts.
        self._steps = _laid_out([[pitch.step for pitch in line] for line in lines])
        self._midis = _laid_out([[pitch.midi for pitch in line] for line in lines])

    def find(
        self,
        notes: Sequence[Pitch],
        *,
        kind: str = "",
        accidentals: bool = False,
        limit: int = 20,
    ) -> tuple[Found, ...]:
        """Return the tunes with a start that begins like ``notes``, nearest first, each once.

        Args:
            notes: At least ``LEAST_NOTES`` as typed, in any key.
            kind: Only tunes of this kind.
            accidentals: Whether the accidentals of ``notes`` are meant, so that of two starts
                that else fit equally well the one with the same sharps and flats comes first.
            limit: At most so many tunes.
        """
        notes = notes[:MOST_NOTES]
        if len(notes) < LEAST_NOTES or not len(self._lengths):
            return ()
        columns = np.arange(len(self._lengths))
        if kind:
            columns = np.flatnonzero(self._kinds == kind.casefold())
        steps = np.array([pitch.step for pitch in notes], dtype=np.int8)
        midis = np.array([pitch.midi for pitch in notes], dtype=np.int8)
        columns = self._most_agreeing(steps, columns)
        distances, moved = self._distances(steps, midis if accidentals else None, columns)
        best: dict[str, Found] = {}
        for place in np.argsort(distances + _OTHER_LETTERS * moved, kind="stable"):
            distance = float(distances[place])
            if len(best) == limit:
                break
            if distance > allowed(len(notes)):
                continue
            tune, part = self._owners[columns[place]]
            best.setdefault(tune, Found(tune, part, distance))
        return tuple(best.values())

    def _most_agreeing(self, steps: Small, columns: Numbers) -> Numbers:
        """The starts in which the most notes agree, up to ``_LOOKED_AT`` of them."""
        if len(columns) <= _LOOKED_AT:
            return columns
        # The longest slice looked at is one note longer than what was typed.
        starts = self._steps[: len(steps) + 1, columns]
        ended = starts == _PAD
        scores = np.zeros(len(columns), dtype=np.int8)
        for place, typed in _ANCHORS:
            agreeing = _agreeing(starts - starts[place], ended, steps - steps[typed])
            np.maximum(scores, agreeing, out=scores)
        best = np.argpartition(-scores, _LOOKED_AT)[:_LOOKED_AT]
        return columns[np.sort(best)]

    def _distances(
        self, steps: Small, midis: Small | None, columns: Numbers
    ) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        """Edit distance of what was typed to the nearest beginning of each start.

        Also whether it was found on other letters than those typed.
        """
        starts = self._steps[:, columns]
        sounds = self._midis[:, columns].astype(np.int16)
        ended = starts == _PAD
        nearest = np.full(len(columns), np.inf)
        moved = np.zeros(len(columns), dtype=np.bool_)
        for place, typed in _ANCHORS:
            costs = _costs(starts - starts[place], steps - steps[typed])
            if midis is not None:
                heights = (midis - midis[typed]).astype(np.int16)
                off = (sounds - sounds[place]) - heights[:, None, None]
                costs[(costs <= _OCTAVE) & (off % 12 != 0)] += _SEMITONE
            costs[:, ended] = _UNWRITTEN
            distances = _edit_distances(costs).round(3)
            nearer = distances < nearest
            nearest[nearer] = distances[nearer]
            moved[nearer] = ((starts[place] - steps[typed]) % 7 != 0)[nearer]
        return nearest, moved


_ANCHORS = ((0, 0), (1, 1), (1, 0), (0, 1))
"""Places of the start and of the typed notes that are taken to be the same note. One slip leaves
one of these right: none in the first note, a wrong one, a missing one, one too many."""


def _agreeing(starts: Small, ended: NDArray[np.bool_], steps: Small) -> Small:
    """How well each start agrees with the notes, the best of three ways.

    Note by note; or from some note on with the start's next note (one was left out) or the one
    before it (one was put in). A note counts 8, one more in its own octave.

    Args:
        starts: Places of the starts' notes, counted from the anchor; a row a note.
        ended: Where a start has no more notes.
        steps: Places of the typed notes, counted from the anchor.
    """
    octaves, typed_octaves = starts % np.int8(7), steps % np.int8(7)

    def agreements(first: int, typed: int) -> Small:
        """Of each typed note from ``typed`` on with the start's from ``first`` on."""
        rows = slice(first, first + len(steps) - typed)
        score: Small = (octaves[rows] == typed_octaves[typed:, None]).astype(np.int8)
        score *= 8
        score += starts[rows] == steps[typed:, None]
        score[ended[rows]] = 5
        return score

    straight = _running(agreements(0, 0))
    left_out = _running(agreements(1, 0)[::-1])[:0:-1]
    put_in = _running(agreements(0, 1)[::-1])[:0:-1]
    best: Small = np.maximum(straight[-1], (straight[:-1] + left_out).max(axis=0) - np.int8(8))
    np.maximum(best, (straight[:-2] + put_in).max(axis=0), out=best)
    return best


def _costs(starts: Small, steps: Small) -> NDArray[np.float64]:
    """Cost of taking each typed note for each note of each start: typed, place, start."""
    off = starts - steps[:, None, None]
    costs = np.where(np.abs(off) <= 2, _NEARLY, _WRONG)
    costs[off % 7 == 0] = _OCTAVE
    costs[off == 0] = 0
    return costs


def _edit_distances(costs: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cheapest way to turn what was typed into a beginning of each start (Levenshtein 1966)."""
    _, places, columns = costs.shape
    row: NDArray[np.float64] = np.repeat(_MISSING * np.arange(places + 1)[:, None], columns, axis=1)
    for cost in costs:
        before = row
        row = before + _EXTRA
        np.minimum(row[1:], before[:-1] + cost, out=row[1:])
        for place in range(1, places + 1):
            np.minimum(row[place], row[place - 1] + _MISSING, out=row[place])
    nearest: NDArray[np.float64] = row.min(axis=0)
    return nearest


def _running(scores: Small) -> Small:
    """Sum of the first 0, 1, 2 … rows."""
    sums = np.zeros((len(scores) + 1, scores.shape[1]), dtype=np.int8)
    for row, score in enumerate(scores):
        np.add(sums[row], score, out=sums[row + 1])
    return sums


def _laid_out(lines: Sequence[Sequence[int]]) -> Small:
    """Lines of numbers side by side, one a column, ended by ``_PAD``."""
    lengths = np.array([len(line) for line in lines], dtype=np.intp)
    across = np.full((len(lines), _KEPT), _PAD, dtype=np.int8)
    across[np.arange(_KEPT) < lengths[:, None]] = [number for line in lines for number in line]
    return np.ascontiguousarray(across.T)


def _pickup_notes(notes: Sequence[Note], pickup: Fraction) -> int:
    """How many notes begin before the first bar line."""
    at = 0.0
    for number, note in enumerate(notes):
        if at >= pickup:
            return number
        at += float(note.quarters)
    return 0
