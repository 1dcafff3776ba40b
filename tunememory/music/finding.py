"""Finding a tune from its first few notes in any key, or from its name; slips are forgiven.

Notes are compared as places on the staff, counted from one of the first two, so neither the key
nor its sharps and flats matter. A first look counts for every start how many of the notes agree
in order, one note left out or put in allowed; the best are then measured by their edit
distance (``edit_distances``). Of equally near ones that on the typed letters comes first, then
that in the octave, then that with its pickup. Chosen on random repertoires of printed tunes,
confirmed on others.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tunememory.music.pitch import LETTERS
from tunememory.text import ARTICLES, fold, fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from tunememory.music.pitch import Note, Pitch
    from tunememory.music.tune import Tune

    Small = NDArray[np.int8]
    Hundredths = NDArray[np.int16]
    Numbers = NDArray[np.intp]


PAD = 127
"""Stands for every place after the end of a start."""

MISSING = 80
"""Cost of a note left out."""

EXTRA, EXTRA_FAR = 90, 120
"""Cost of a note too many, near one of its neighbours and not."""

WRONG_NEAR, WRONG, WRONG_FAR = 95, 100, 120
"""Cost of a wrong note up to ``NEAR`` places off, up to ``MOST_OFF``, further."""

NEAR, MOST_OFF = 2, 4

OCTAVE, OCTAVE_MEANT = 10, 50
"""Cost of a note in another octave: letters are often typed without octaves."""

SEMITONE = 20
"""Cost of a note on the right place with another accidental, where accidentals are meant."""

UNWRITTEN = 45
"""Cost of a typed note where the start kept is already at its end."""

_NEVER = 2000
"""More than any twelve notes can cost, and small enough to be added up twelve times."""


def edit_distances(
    off: Small,
    ended: NDArray[np.bool_],
    limit: int,
    *,
    octaves: bool,
    other_sign: NDArray[np.bool_] | None = None,
) -> Hundredths:
    """Edit distance (Levenshtein 1966) of typed notes to the nearest beginning of each start.

    Only so many notes left out or put in are tried as ``limit`` allows: a distance above it may
    come out larger than it is.

    Args:
        off: Places on the staff from each typed note to each note of each start: typed, place,
            start.
        ended: Where a start has no more notes: place, start.
        limit: Distance that matters, in hundredths of a slip.
        octaves: Whether the octaves of the typed notes are meant.
        other_sign: Where the accidentals differ, as ``off``; ``None`` where they are not meant.
    """
    costs = _COSTS[octaves][off.view(np.uint8)]
    if other_sign is not None:
        costs[(costs <= OCTAVE_MEANT) & other_sign] += SEMITONE
    costs[:, ended] = UNWRITTEN
    return _cheapest(costs, _extra_costs(costs), limit // MISSING)


def _table(octave: int, *, meant: bool) -> Hundredths:
    """Cost of a note by places off, a signed byte read as an unsigned one."""
    places = np.arange(256, dtype=np.uint8).view(np.int8).astype(np.int16)
    apart = np.abs(places) if meant else np.minimum(places % 7, -places % 7)
    costs = np.full(256, WRONG_FAR, dtype=np.int16)
    costs[apart <= MOST_OFF] = WRONG
    costs[apart <= NEAR] = WRONG_NEAR
    costs[places % 7 == 0] = octave
    costs[0] = 0
    return costs


_COSTS = {False: _table(OCTAVE, meant=False), True: _table(OCTAVE_MEANT, meant=True)}


def _extra_costs(costs: Hundredths) -> Hundredths:
    """Cost of each typed note as one too many before each place, and after the last."""
    near = costs <= WRONG_NEAR
    beside = np.zeros((costs.shape[0], costs.shape[1] + 1, costs.shape[2]), dtype=np.bool_)
    beside[:, :-1] = near
    beside[:, 1:] |= near
    return np.where(beside, np.int16(EXTRA), np.int16(EXTRA_FAR))


def _cheapest(costs: Hundredths, extras: Hundredths, band: int) -> Hundredths:
    """Sum of the cheapest path, up to ``band`` places ahead of the typed notes or behind."""
    typed, places, columns = costs.shape
    taken = np.full((typed, places + 2 * band + 1, columns), _NEVER, dtype=np.int16)
    taken[:, band : band + places] = costs
    put_in = np.full((typed, places + 2 * band + 2, columns), _NEVER, dtype=np.int16)
    put_in[:, band : band + places + 1] = extras
    # Rows are places of the start taken so far, from ``band`` fewer than typed notes to more.
    row = np.full((2 * band + 1, columns), _NEVER, dtype=np.int16)
    row[band:] = MISSING * np.arange(band + 1, dtype=np.int16)[:, None]
    for note in range(typed):
        before = row
        row = before + taken[note, note : note + 2 * band + 1]
        np.minimum(
            row[:-1], before[1:] + put_in[note, note + 1 : note + 1 + 2 * band], out=row[:-1]
        )
        for place in range(1, 2 * band + 1):
            np.minimum(row[place], row[place - 1] + np.int16(MISSING), out=row[place])
    nearest: Hundredths = row.min(axis=0)
    return nearest


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
            distances = edit_distances(off, ended, farthest, octaves=octaves, other_sign=other_sign)
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


_EDITS_BY_LENGTH = ((8, 2), (4, 1))
"""Misspellings forgiven in a word of at least so many letters: our choice. Shorter words are so
like each other that one edit would find almost anything."""


@dataclass(frozen=True, slots=True)
class Named:
    """A tune found by name.

    Attributes:
        tune: Its identity.
        title: The title that fitted best, which may be another than the main one.
        edits: Letters that had to be forgiven.
    """

    tune: str
    title: str
    edits: int


@dataclass(frozen=True, slots=True)
class _Title:
    tune: str
    title: str
    folded: str
    words: int
    other: bool


@dataclass(frozen=True, slots=True)
class NameIndex:
    """Titles prepared for searching; built once, never changed."""

    _titles: tuple[_Title, ...]
    _words: tuple[str, ...]
    _holders: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, tunes: Iterable[tuple[str, Sequence[str]]]) -> NameIndex:
        """Build the index.

        Args:
            tunes: Identity and titles of each tune, main title first.
        """
        titles: list[_Title] = []
        holders: dict[str, list[int]] = {}
        for tune, names in tunes:
            for number, name in enumerate(names):
                words = fold(name).split()
                for word in dict.fromkeys(words):
                    holders.setdefault(word, []).append(len(titles))
                titles.append(_Title(tune, name, fold_title(name), len(words), number > 0))
        order = sorted(holders)
        return cls(tuple(titles), tuple(order), tuple(tuple(holders[word]) for word in order))

    def find(self, words: str, limit: int = 20) -> tuple[Named, ...]:
        """Return tunes with a title that has every one of ``words``, best first.

        Each word may be the beginning of a word of the title, in any order; case, accents,
        punctuation and articles do not matter. Where no title fits, small misspellings are
        forgiven (``_EDITS_BY_LENGTH``), a letter too many, too few, wrong or swapped.

        Args:
            words: As typed.
            limit: At most so many tunes.
        """
        folded = fold(words)
        wanted = folded.split()
        wanted = [word for word in wanted if word not in ARTICLES] or wanted
        if not wanted:
            return ()
        found = self._fitting([self._beginning(word) for word in wanted])
        if not found:
            found = self._fitting([self._misspelt(word) for word in wanted])
        query = " ".join(wanted)
        best: dict[str, tuple[tuple[int, bool, bool, bool, int, str], int]] = {}
        for number, edits in found.items():
            title = self._titles[number]
            rank = (
                edits,
                title.folded != query,
                not title.folded.startswith(query),
                title.other,
                title.words,
                title.folded,
            )
            if title.tune not in best or rank < best[title.tune][0]:
                best[title.tune] = (rank, number)
        ranked = sorted(best.items(), key=lambda item: item[1])[:limit]
        return tuple(
            Named(tune, self._titles[number].title, rank[0]) for tune, (rank, number) in ranked
        )

    def _fitting(self, matches: Sequence[Mapping[int, int]]) -> dict[int, int]:
        """Titles that hold a match of every word, with the edits it takes.

        Args:
            matches: For each word typed, indices into ``_words`` and their edits.
        """
        total: dict[int, int] | None = None
        for match in matches:
            here: dict[int, int] = {}
            for word, edits in match.items():
                for title in self._holders[word]:
                    here[title] = min(edits, here.get(title, edits))
            total = (
                here
                if total is None
                else {title: total[title] + here[title] for title in total.keys() & here.keys()}
            )
        return total or {}

    def _beginning(self, prefix: str) -> dict[int, int]:
        first = bisect_left(self._words, prefix)
        return dict.fromkeys(range(first, self._after(prefix, first)), 0)

    def _after(self, prefix: str, first: int) -> int:
        """Index after the last word that begins with ``prefix``."""
        return bisect_left(self._words, prefix + "\U0010ffff", first)

    def _misspelt(self, wanted: str) -> dict[int, int]:
        """Words with a beginning at most so many edits away (optimal string alignment).

        Walks down the beginnings that the sorted words share, one row of the distance table for
        each letter, and leaves a branch as soon as it cannot come within the limit.
        """
        limit = next((edits for least, edits in _EDITS_BY_LENGTH if len(wanted) >= least), 0)
        if not limit:
            return self._beginning(wanted)
        found: dict[int, int] = {}
        width = len(wanted)
        top = list(range(width + 1))
        # Words first to last share the prefix, whose last two rows these are.
        waiting = [(0, len(self._words), "", top, top, limit + 1)]
        while waiting:
            first, last, prefix, row, before, best = waiting.pop()
            best = min(best, row[width])
            if min(row) >= best:
                if best <= limit:
                    found.update(dict.fromkeys(range(first, last), best))
                continue
            depth = len(prefix)
            while first < last:
                word = self._words[first]
                if len(word) == depth:
                    if best <= limit:
                        found[first] = best
                    first += 1
                    continue
                longer = word[: depth + 1]
                after = min(self._after(longer, first), last)
                following = _next_row(wanted, longer, row, before, limit)
                waiting.append((first, after, longer, following, row, best))
                first = after
        return found


def _next_row(wanted: str, prefix: str, row: list[int], before: list[int], limit: int) -> list[int]:
    """The row of the distance table for the last letter of ``prefix``.

    Only the band that can lie within ``limit`` is worked out.
    """
    depth = len(prefix)
    letter = prefix[-1]
    swapped_with = prefix[-2] if depth > 1 else ""
    following = [limit + 1] * len(row)
    following[0] = depth
    for place in range(max(0, depth - limit - 1), min(len(wanted), depth + limit)):
        other = wanted[place]
        cost = min(row[place] + (letter != other), row[place + 1] + 1, following[place] + 1)
        if place and letter == wanted[place - 1] and swapped_with == other:
            cost = min(cost, before[place - 1] + 1)
        following[place + 1] = cost
    return following
