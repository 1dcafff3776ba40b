"""What fades and what is coming, beside the steps of the day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from tunememory.service.chance_words import in_ten
from tunememory.ui.drawing_memory import space_of
from tunememory.ui.text import Span, bare, cell, inked, width_of
from tunememory.ui.words import ahead

if TYPE_CHECKING:
    from tunememory.service.today_view import Coming, Fades

MOST_FADING = 5
"""Names of fading tunes shown; the rest is a key away."""

MOST_COMING = 2
"""Dates shown; the rest is a key away."""


def coming_words(date: Coming) -> str:
    """Say when a date is and how ready: ``"in 12 days · 12 of 20"``."""
    ready = f"{date.ready} of {date.wanted}" if date.wanted else ""
    return " · ".join(filter(None, (ahead(date.days), ready)))


class Fading(Widget):
    """A few names of what fades, weakest first, with the chance in words; then the next dates.

    Where what fades is not to be said, the dates stand alone.
    """

    DEFAULT_CSS = """
    Fading { height: 6; }
    """

    fading: reactive[tuple[Fades, ...] | None] = reactive(None, init=False)
    coming: reactive[tuple[Coming, ...]] = reactive((), init=False)

    def render(self) -> Content:
        """A heading and as many rows as there is room for."""
        if self.fading is None and not self.coming:
            return Content("")
        dates = self.coming[: MOST_COMING if self.size.height > 4 else 1]
        room = self.size.height - 1 - len(dates)
        head = "Coming" if self.fading is None else "What fades"
        rows: list[list[Span]] = [[(head, "strong")]]
        if self.fading == ():
            rows.append([("Nothing beyond this round.", "quiet")])
        for row in (self.fading or ())[: min(MOST_FADING, room)]:
            strand = "" if row.strand == "A" else f" · {row.strand}"
            words = in_ten(row.chance)
            rows.append(self._ends(row.title, "", strand, words, space_of(row.chance)))
        rows += [
            self._ends(view.title, "strong", "", coming_words(view), "accent") for view in dates
        ]
        return inked(rows)

    def _ends(self, title: str, ink: str, strand: str, words: str, role: str) -> list[Span]:
        """A title on the left, words on the right."""
        room = self.size.width - width_of(words) - 2
        title = cell(title, min(room - width_of(strand), width_of(bare(title)))).rstrip()
        space = " " * (room + 2 - width_of(title) - width_of(strand))
        return [(title, ink), (strand + space, "quiet"), (words, role)]
