"""What fades: one tune a line, its weakest strand, the chance in words, when it was last met."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.service.chance_words import in_ten
from tunememory.service.views import FadingRow, State
from tunememory.ui.drawing_memory import space_of
from tunememory.ui.text import cell
from tunememory.ui.widgets.row_list import RowList
from tunememory.ui.words import ago, strand_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date, datetime

    from tunememory.ui.text import Span

ROOMY = 68
"""From this many cells on everything is written out."""


class FadingList(RowList[FadingRow]):
    """The tunes, weakest first."""

    today: date
    """The present practice day; set before rows are shown."""

    day_of: Callable[[datetime], date]
    """Gives the practice day of a moment; set before rows are shown."""

    def spans(self, row: FadingRow, width: int) -> Sequence[Span]:
        """Write one tune in ``width`` cells."""
        roomy = width >= ROOMY
        chance = row.chance
        asked = chance.state is not State.NOT_ASKED
        role = space_of(chance.chance) if asked else "new"
        strand = strand_words(row.strand) if roomy else row.strand
        met = "not asked yet"
        if chance.last_checked is not None:
            met = ago(self.day_of(chance.last_checked), self.today)
        columns: list[Span] = [
            (cell(strand, 8 if roomy else 4), "quiet"),
            (" " + cell(in_ten(chance.chance, brief=not roomy), 13 if roomy else 9), role),
            (" " + cell(chance.state.value if asked else "", 6), role),
            (" " + cell(met, 13), "quiet"),
        ]
        room = width - sum(len(text) for text, _ in columns) - 1
        return [(cell(row.title, room) + " ", ""), *columns]
