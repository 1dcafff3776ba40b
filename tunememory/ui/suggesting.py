"""Completing the title of a tune in the middle of a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.suggester import Suggester

from tunememory.tunes.text import ARTICLES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.desk import Desk

LEAST_LETTERS = 3
"""Letters from which a title is offered."""

MOST_WORDS = 6
"""Last words of a line that may be the beginning of a title."""


def completed(line: str, titles: Sequence[str]) -> str:
    """Return ``line`` with its end made into the first of ``titles`` that goes on so, else empty.

    A title can be begun without its article, and in small letters: it comes as it is written.

    >>> completed("slowly: mas", ["The Mason's Apron"])
    "slowly: Mason's Apron"
    >>> completed("of", ["Off to California"])
    ''
    """
    words = line.split(" ")
    for place in range(max(0, len(words) - MOST_WORDS), len(words)):
        end = " ".join(words[place:])
        if len(end) < LEAST_LETTERS:
            return ""
        for title in titles:
            for named in (title, _bare(title)):
                if len(named) > len(end) and named.casefold().startswith(end.casefold()):
                    return line[: len(line) - len(end)] + named
    return ""


def titles_at_hand(desk: Desk) -> tuple[str, ...]:
    """Return every title: those of the tunes to work on first, then by name."""
    first = [item.tune.title for group in desk.work_list().groups for item in group.items]
    return tuple(dict.fromkeys((*first, *(row.title for row in desk.rows()))))


class TitleSuggester(Suggester):
    """Offers titles as a line is typed; the right arrow takes what is offered.

    Args:
        titles: Those that are likelier first.
    """

    def __init__(self, titles: Sequence[str]) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self._titles = titles

    async def get_suggestion(self, value: str) -> str | None:
        """Return the whole line with a title completed."""
        return completed(value, self._titles) or None


def _bare(title: str) -> str:
    """A title without a leading article."""
    first, _, rest = title.partition(" ")
    return rest if rest and first.casefold() in ARTICLES else title
