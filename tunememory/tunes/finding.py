"""Finding a tune from its first few notes, in any key, a slip forgiven.

Notes are compared as places on the staff, counted from one of the first two, so neither the key
nor its sharps and flats matter. A first look counts for every start how many of the notes agree
in order, one note left out or put in allowed; the best are then measured by their edit distance
(``slips``). Of equally near ones that on the typed letters comes first, then that in the octave,
then that with its pickup. Chosen on random repertoires of printed tunes, confirmed on others.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.tunes.pitch import LETTERS
from tunememory.tunes.slips import PAD, slip_distances

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from tunememory.tunes.pitch import Note, Pitch
    from tunememory.tunes.tune import Tune

    Small = NDArray[np.int8]
    Hundredths = NDArray[np.int16]
    Numbers = NDArray[np.intp]

LEAST_NOTES = 4
"""So many notes must be typed. In a repertoire of 400 starts four leave a list of five in two
cases of three, six in 99 of 100."""

MOST_NOTES = 12
"""Further notes are not looked at."""

_KEPT = MOST_NOTES + 2
_LOOKED_AT = 200

_OTHER_LETTERS = 10
"""How much nearer a start must be to come first although its letters are not those typed, in
hundredths of a slip: the notes are mostly typed in the key the tune is played in."""

_NEAR_BY = 3
_FAR_AWAY, _FAR_AWAY_GUESSED = 50, 10
"""The same for a start more than ``_NEAR_BY`` places away, where octaves are meant and where they
are a guess: whoever types in another key takes the nearer of two octaves."""

_NO_PICKUP = 5
"""The same for a start that had to be taken without its pickup."""


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
        roots: list[int] = []
        shortened: list[bool] = []
        lines: list[list[Pitch]] = []
        for tune in tunes:
            for start in tune.starts:
                key = start.key or tune.key
                pickup = _pickup_notes(start.notes, start.pickup)
                for left_out in (0, pickup)[: 1 + bool(pickup)]:
                    notes = start.notes[left_out:]
                    if len(notes) >= LEAST_NOTES:
                        self._owners.append((tune.uuid, start.part))
                        kinds.append(tune.kind.casefold())
                        roots.append(LETTERS.index(key.root[0]) if key else 0)
                        shortened.append(left_out > 0)
                        lines.append([note.pitch for note in notes[:_KEPT]])
        self._kinds = np.array(kinds, dtype=np.str_)
        self._roots = np.array(roots, dtype=np.int16)
        self._shortened = np.array(shortened, dtype=np.int16)
        # On their side, a row for each place: then every comparison runs along the starts.
        self._steps = _laid_out([[pitch.step for pitch in line] for line in lines])
        self._midis = _laid_out([[pitch.midi for pitch in line] for line in lines])

    def find(
        self,
        notes: Sequence[Pitch],
        *,
        kind: str = "",
        accidentals: bool = False,
        octaves: bool = True,
        from_root: bool = False,
        limit: int = 20,
    ) -> tuple[Found, ...]:
        """Return the tunes with a start that begins like ``notes``, nearest first, each once.

        Args:
            notes: At least ``LEAST_NOTES`` as typed, in any key.
            kind: Only tunes of this kind.
            accidentals: Whether the accidentals of ``notes`` are meant, so that of two starts
                that else fit equally well the one with the same sharps and flats comes first.
            octaves: Whether their octaves are meant.
            from_root: Whether C stands for the root of whatever tune it is, as in scale steps.
            limit: At most so many tunes.
        """
        notes = notes[:MOST_NOTES]
        if len(notes) < LEAST_NOTES or not self._owners:
            return ()
        columns = np.arange(len(self._owners))
        if kind:
            columns = np.flatnonzero(self._kinds == kind.casefold())
        steps = np.array([pitch.step for pitch in notes], dtype=np.int8)
        midis = np.array([pitch.midi for pitch in notes], dtype=np.int8)
        columns = self._most_agreeing(steps, columns)
        roots = self._roots[columns] if from_root else np.zeros(len(columns), dtype=np.int16)
        distances, ranks = self._distances(
            steps, midis if accidentals else None, columns, roots, octaves=octaves
        )
        ranks += _NO_PICKUP * self._shortened[columns]
        farthest = round(100 * allowed(len(notes)))
        best: dict[str, Found] = {}
        for place in np.argsort(ranks, kind="stable"):
            if len(best) == limit:
                break
            if distances[place] > farthest:
                continue
            tune, part = self._owners[columns[place]]
            best.setdefault(tune, Found(tune, part, int(distances[place]) / 100))
        return tuple(best.values())

    def _most_agreeing(self, steps: Small, columns: Numbers) -> Numbers:
        """The starts in which the most notes agree, up to ``_LOOKED_AT`` of them."""
        if len(columns) <= _LOOKED_AT:
            return columns
        # The longest slice looked at is one note longer than what was typed.
        starts = self._steps[: len(steps) + 1, columns]
        ended = starts == PAD
        scores = np.zeros(len(columns), dtype=np.int8)
        for place, typed in _ANCHORS:
            agreeing = _agreeing(starts - starts[place], ended, steps - steps[typed])
            np.maximum(scores, agreeing, out=scores)
        best = np.argpartition(-scores, _LOOKED_AT)[:_LOOKED_AT]
        return columns[np.sort(best)]

    def _distances(
        self,
        steps: Small,
        midis: Small | None,
        columns: Numbers,
        roots: Hundredths,
        *,
        octaves: bool,
    ) -> tuple[Hundredths, Hundredths]:
        """Edit distance of what was typed to the nearest beginning of each start.

        Also what the starts are ranked by, which is more where they lie on other letters or in
        another octave. All in hundredths of a slip.
        """
        starts = self._steps[:, columns]
        sounds = self._midis[:, columns].astype(np.int16)
        ended = starts == PAD
        farthest = round(100 * allowed(len(steps)))
        nearest = np.full(len(columns), np.iinfo(np.int16).max, dtype=np.int16)
        ranks = nearest.copy()
        for place, typed in _ANCHORS:
            off = (starts - starts[place]) - (steps - steps[typed])[:, None, None]
            other_sign = None
            if midis is not None:
                heights = (midis - midis[typed]).astype(np.int16)
                other_sign = ((sounds - sounds[place]) - heights[:, None, None]) % 12 != 0
            distances = slip_distances(off, ended, farthest, octaves=octaves, other_sign=other_sign)
            moved = starts[place].astype(np.int16) - steps[typed] - roots
            np.minimum(nearest, distances, out=nearest)
            np.minimum(ranks, distances + _cost_of_moving(moved, octaves=octaves), out=ranks)
        return nearest, ranks


def _cost_of_moving(moved: Hundredths, *, octaves: bool) -> Hundredths:
    """What a start loses in rank for lying so many places from what was typed."""
    costs: Hundredths = np.where(moved % 7 == 0, 0, _OTHER_LETTERS).astype(np.int16)
    costs[np.abs(moved) > _NEAR_BY] += _FAR_AWAY if octaves else _FAR_AWAY_GUESSED
    return costs


_ANCHORS = ((0, 0), (1, 1), (1, 0), (0, 1))
"""Places of the start and of the typed notes that are taken to be the same note. One slip leaves
one of these right: none in the first note, a wrong one, a missing one, one too many."""


def _agreement_table() -> Small:
    """What a note counts by places off, a signed byte read as an unsigned one."""
    places = np.arange(256, dtype=np.uint8).view(np.int8)
    scores = np.where(places % 7 == 0, 8, 0).astype(np.int8)
    scores[0] = 9
    return scores


_AGREEMENT = _agreement_table()


def _agreeing(starts: Small, ended: NDArray[np.bool_], steps: Small) -> Small:
    """How well each start agrees with the notes, the best of three ways.

    Note by note; or from some note on with the start's next note (one was left out) or the one
    before it (one was put in). A note counts 8, one more in its own octave.

    Args:
        starts: Places of the starts' notes, counted from the anchor; a row a note.
        ended: Where a start has no more notes.
        steps: Places of the typed notes, counted from the anchor.
    """

    def agreements(first: int, typed: int) -> Small:
        """Of each typed note from ``typed`` on with the start's from ``first`` on."""
        rows = slice(first, first + len(steps) - typed)
        off = starts[rows] - steps[typed:, None]
        score: Small = _AGREEMENT.take(off.view(np.uint8), mode="clip")
        np.copyto(score, np.int8(5), where=ended[rows])
        return score

    straight = _running(agreements(0, 0))
    left_out = _running(agreements(1, 0)[::-1])[:0:-1]
    put_in = _running(agreements(0, 1)[::-1])[:0:-1]
    best: Small = np.maximum(straight[-1], (straight[:-1] + left_out).max(axis=0) - np.int8(8))
    np.maximum(best, (straight[:-2] + put_in).max(axis=0), out=best)
    return best


def _running(scores: Small) -> Small:
    """Sum of the first 0, 1, 2 … rows."""
    sums = np.zeros((len(scores) + 1, scores.shape[1]), dtype=np.int8)
    for row, score in enumerate(scores):
        np.add(sums[row], score, out=sums[row + 1])
    return sums


def _laid_out(lines: Sequence[Sequence[int]]) -> Small:
    """Lines of numbers side by side, one a column, ended by ``PAD``."""
    lengths = np.array([len(line) for line in lines], dtype=np.intp)
    across = np.full((len(lines), _KEPT), PAD, dtype=np.int8)
    across[np.arange(_KEPT) < lengths[:, None]] = [number for line in lines for number in line]
    return np.ascontiguousarray(across.T)


def _pickup_notes(notes: Sequence[Note], pickup: Fraction) -> int:
    """How many notes begin before the first bar line."""
    left = pickup
    for number, note in enumerate(notes):
        if left <= 0:
            return number
        left -= note.quarters
    return 0
