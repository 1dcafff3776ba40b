"""The repertoire on a staff, with the states in words beside it, at whatever size there is."""

from __future__ import annotations

import sys
from functools import lru_cache
from typing import TYPE_CHECKING

from textual.reactive import reactive
from textual.widget import Widget

from tunememory.ui.canvas import (
    Head,
    charset_here,
    empty_staff,
    repertoire_staff,
    space_row,
)
from tunememory.ui.drawing_memory import SPACES, space_of
from tunememory.ui.text import Span, cell, inked
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.content import Content

    from tunememory.service.today_view import TuneMark

WORDS = 12
"""Cells of the words left of the staff, a blank included."""

MOST_GAP = 4
"""Rows between two staff lines at most; taller looks empty."""


NOT_ASKED = "not asked yet"
"""The state of a tune that has no place in the four spaces."""


def head_of(tune: TuneMark) -> Head:
    """Return a tune as a note head, gathered by the letter of its root."""
    return Head(
        group=_written(tune.root),
        chance=tune.chance,
        role=space_of(tune.chance) if tune.asked else "quiet",
        asked=tune.asked,
    )


@lru_cache(maxsize=64)
def _written(root: str) -> str:
    return root.replace("b", "♭").replace("#", "♯") or "?"


def draw(
    tunes: tuple[TuneMark, ...], counts: Mapping[str, int], width: int, height: int
) -> list[list[Span]]:
    """Draw the staff, the words beside it, the roots and the legend beneath.

    Args:
        tunes: In an order that stays from day to day.
        counts: Tunes in each state, by its name.
        width: Cells across, words included.
        height: Rows there are, at least 7.
    """
    charset = charset_here(getattr(sys.__stdout__, "encoding", None) or "utf-8")
    gap = max(0, min(MOST_GAP, (height - 2 - 5) // len(SPACES)))
    across = max(3, width - WORDS)
    heads = [head_of(tune) for tune in tunes]
    if heads:
        drawn = repertoire_staff(heads, across, gap, charset)
        rows, each = drawn.rows, drawn.each
    else:
        rows, each = empty_staff(across, gap, (), charset, foot=1).rows(), 1
    words: dict[int, list[Span]] = {}
    for place, name in enumerate(reversed(SPACES)):
        number = counts.get(name, 0)
        word = f"{number:>4} " if counts else "     "
        words[space_row(place, gap)] = [(word, ""), (cell(name, WORDS - 5), name)]
    picture = [[*words.get(y, [(" " * WORDS, "")]), *row] for y, row in enumerate(rows)]
    if heads:
        picture.append(
            [(" " * WORDS + _legend(charset.head, charset.hollow, counts, each), "quiet")]
        )
    return picture


def _legend(head: str, hollow: str, counts: Mapping[str, int], each: int) -> str:
    said = [f"{head} asked"]
    if counts.get(NOT_ASKED):
        said.append(f"{hollow} {NOT_ASKED} ({counts[NOT_ASKED]})")
    if each > 1:
        said.append(f"one note is up to {counted(each, 'tune')}")
    return "   ".join(said)


class StaffPicture(Widget):
    """All tunes on the staff. Empty until ``show`` is called."""

    DEFAULT_CSS = """
    StaffPicture { height: 1fr; min-height: 7; }
    """

    tunes: reactive[tuple[TuneMark, ...]] = reactive((), init=False)
    counts: reactive[dict[str, int]] = reactive({}, init=False)

    def show(self, tunes: tuple[TuneMark, ...], counts: dict[str, int]) -> None:
        """Draw these tunes."""
        self.counts = counts
        self.tunes = tunes

    def render(self) -> Content:
        """The picture at the size of the widget."""
        return inked(draw(self.tunes, self.counts, self.size.width, self.size.height))
