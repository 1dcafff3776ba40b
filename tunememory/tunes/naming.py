"""Finding tunes by words of their titles."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.tunes.text import ARTICLES, fold, fold_title

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

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
