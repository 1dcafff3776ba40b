"""Help for a mind gone blank, as lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tunememory.ui.drawing_memory import space_of
from tunememory.ui.text import cell
from tunememory.ui.words import ago

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from tunememory.service.day_views import StarterView
    from tunememory.ui.text import Span

ROOMY = 68
"""From this many cells on the first notes stand beside the name."""


class TonightRow(NamedTuple):
    """A tune to start, a heading, or a key that has none."""

    head: str
    starter: StarterView | None = None


def in_key_rows(
    groups: Iterable[tuple[str, tuple[StarterView, ...]]],
) -> tuple[TonightRow, ...]:
    """Return what there is in a key, the tunings as headings."""
    return tuple(
        row
        for letters, starters in groups
        for row in (TonightRow(letters), *(TonightRow("", one) for one in starters))
    )


def tonight_spans(row: TonightRow, width: int) -> list[Span]:
    """Write a tune to start: a full note is a sure one, ``lately`` was played there lately.

    Args:
        row: The tune, or a heading.
        width: Cells across.
    """
    one = row.starter
    label = cell(row.head, 4) if row.head and one is not None else ""
    if one is None:
        return [(cell(row.head, width), "strong")]
    facts = " ".join(filter(None, (one.key, one.kind)))
    lately = " lately" if one.lately else ""
    notes = 26 if width >= ROOMY else 0
    title = max(8, width - len(label) - 2 - 16 - notes - len(lately))
    return [
        (label, "bright"),
        ("● " if one.sure else "○ ", space_of(one.chance)),
        (cell(one.title, title), "quiet" if one.lately else ""),
        (lately, "quiet"),
        (cell(f" {facts}", 16), "quiet"),
        (cell(f" {one.first}", notes), ""),
    ]


def about_words(one: StarterView, today: date) -> str:
    """Say the rest of a tune to start in one line."""
    here = f"played there {ago(one.played_here, today)}" if one.played_here else ""
    first = f"begins {one.first}" if one.first else "no start written down"
    sure = "" if one.sure else "not sure"
    return " · ".join(filter(None, (one.tuning, first, here, sure)))
