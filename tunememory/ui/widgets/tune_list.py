"""The list of tunes: one line each, title first, how well it is remembered last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.service.views import State, TuneRow
from tunememory.tunes.tune import Status
from tunememory.ui.choosing import Order, Shown
from tunememory.ui.drawing_memory import SPACES, space_of
from tunememory.ui.text import cell, width_of
from tunememory.ui.widgets.row_list import RowList

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.ui.text import Span

STATE_ROLES = {
    State.SAFE: "safe",
    State.FADING: "fading",
    State.RUSTY: "rusty",
    State.LOST: "lost",
    State.NOT_ASKED: "new",
}
"""Roles (component classes) in which the states are written."""

NARROW_STAFF = 5
WIDE_STAFF = 9
"""Cells of the small staff: five lines, and with the spaces between them."""

SUREST = 0.95
"""From this chance on a note stands on the top line of the narrow staff."""


class TuneList(RowList[TuneRow]):
    """My tunes. Columns give way from the right as the window narrows."""

    order: Order = Order.NAME
    """Decides whether a narrow list shows the kind or the tuning."""

    def spans(self, row: TuneRow, width: int) -> Sequence[Span]:
        """Write one tune in ``width`` cells."""
        columns = columns_for(width, self.order)
        spans = _title_spans(row, columns.title)
        for text, room in (
            (" · ".join(row.other_titles), columns.others),
            (row.key, columns.key),
            (row.kind, columns.kind),
            (row.tuning, columns.tuning),
        ):
            if room:
                spans.append((" " + cell(text, room - 1), "quiet"))
        spans.append((" ", ""))
        spans.extend(chance_spans(row, columns.staff))
        spans.append((" " + cell(_word(row), columns.word - 1), _role(row)))
        return spans


def small_staff(chance: float, width: int) -> tuple[str, str, str]:
    """Return a staff laid on its side: before the note, the note, after it.

    Its right end is the top line. On the wide staff the note stands in the space of its state;
    the narrow one has a line for each state, and the top one for the surest.

    >>> "".join(small_staff(0.72, WIDE_STAFF)), "".join(small_staff(0.72, NARROW_STAFF))
    ('│ │ │●│ │', '││●││')
    """
    space = SPACES.index(space_of(chance))
    if width == WIDE_STAFF:
        lines, place = "│ │ │ │ │", 2 * space + 1
    else:
        lines, place = "│││││", space + (chance >= SUREST)
    return lines[:place], "●", lines[place + 1 :]


def chance_spans(row: TuneRow, width: int) -> list[Span]:
    """Write the small staff of one tune; a tune only wanted has no note on it yet."""
    before, note, after = small_staff(row.chance.chance, width)
    if row.status is Status.WANTED:
        return [(f"{before}{'│' if width == NARROW_STAFF else ' '}{after}", "staff")]
    if row.chance.state is State.NOT_ASKED:
        note = "○"
    return [(before, "staff"), (note, _role(row)), (after, "staff")]


def heads_spans(width: int, shown: Shown) -> list[Span]:
    """Write the heads of the columns, an arrow at the one the list is sorted by.

    Args:
        width: Cells of a row, the mark of the cursor left out.
        shown: The filter and order of the list.
    """
    columns = columns_for(width, shown.order)
    arrow = "▴" if shown.backwards else "▾"
    spans: list[Span] = []
    for order, room in (
        (Order.NAME, columns.title + columns.others),
        (Order.KEY, columns.key),
        (Order.KIND, columns.kind),
        (Order.TUNING, columns.tuning),
        (Order.CHANCE, 1 + columns.staff + columns.word),
    ):
        sorted_by = order is shown.order
        word = f"{order.value} {arrow}" if sorted_by else order.value
        gap = "" if order is Order.NAME else " "
        spans.append((cell(gap + word, room), "accent" if sorted_by else "quiet"))
    return spans


def _title_spans(row: TuneRow, width: int) -> list[Span]:
    role = "quiet" if row.status in {Status.RESTING, Status.WANTED} else ""
    note = " · learning" if row.status is Status.LEARNING else ""
    if width_of(row.title) + len(note) > width:
        note = ""
    used = min(width_of(row.title), width - len(note))
    return [(cell(row.title, used), role), (cell(note, width - used), "quiet")]


def _word(row: TuneRow) -> str:
    if row.status in {Status.WANTED, Status.RESTING}:
        return row.status.value
    return "not asked" if row.chance.state is State.NOT_ASKED else row.chance.state.value


def _role(row: TuneRow) -> str:
    if row.status in {Status.WANTED, Status.RESTING}:
        return "quiet"
    return STATE_ROLES[row.chance.state]


@dataclass(frozen=True, slots=True)
class Columns:
    """Cells of each column, the blank before it included; 0 leaves it out."""

    title: int
    others: int
    key: int
    kind: int
    tuning: int
    staff: int
    word: int


def columns_for(width: int, order: Order) -> Columns:
    """Share ``width`` cells among the columns; the titles get what the others leave."""
    word = 10
    staff = WIDE_STAFF if width >= 68 else NARROW_STAFF
    key = 7 if width >= 44 else 0
    kind = 11 if width >= 52 else 0
    tuning = 7 if width >= 68 else 0
    if not tuning and kind and order is Order.TUNING:
        kind, tuning = 0, 7
    title = max(0, width - (key + kind + tuning + 1 + staff + word))
    others = max(0, title - 44)
    if others < 20:
        others = 0
    return Columns(title - others, others, key, kind, tuning, staff, word)
