"""A start as lines of text: letters, steps and fingers one above the other, note by note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.text import cell, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.views import StartView

FORMS = ("letters", "steps", "fingers")
"""The rows a start can be written in, from top to bottom."""

BAR = "│ "


def start_lines(
    view: StartView, width: int, forms: Sequence[str] = ("letters", "fingers")
) -> list[tuple[str, str]]:
    """Lay a start out in rows that are aligned note by note, with bar lines.

    A start too long for the width goes on in further groups of rows, broken at a bar line where
    one is near enough, and never in the middle of a note.

    Args:
        view: The start.
        width: Cells to keep within; a single note wider than that is let stand.
        forms: Which of ``FORMS`` to write, top row first.

    Returns:
        ``(form, line)`` pairs; no line for a start with no notes.
    """
    rows: dict[str, tuple[str, ...]] = {
        "letters": view.letters, "steps": view.steps, "fingers": view.fingers,
    }  # fmt: skip
    rows = {form: rows[form] for form in forms if rows[form]}
    if not rows:
        return []
    count = min(len(notes) for notes in rows.values())
    bars = set(view.bars)
    wide = [max(width_of(notes[i]) for notes in rows.values()) + 1 for i in range(count)]
    lines: list[tuple[str, str]] = []
    for first, last in _groups(wide, bars, width):
        for form, notes in rows.items():
            pieces = [
                (BAR if i in bars and i else "") + cell(notes[i], wide[i])
                for i in range(first, last)
            ]
            lines.append((form, "".join(pieces).rstrip()))
    return lines


def _groups(wide: list[int], bars: set[int], width: int) -> list[tuple[int, int]]:
    """Split note numbers into runs that fit into ``width``."""
    groups: list[tuple[int, int]] = []
    first = 0
    while first < len(wide):
        used = 0
        last = first
        while last < len(wide):
            used += wide[last] + (len(BAR) if last in bars and last else 0)
            # The blank after the last note need not fit.
            if used - 1 > width and last > first:
                break
            last += 1
        if last < len(wide):
            at_bar = [bar for bar in bars if first + (last - first) // 2 < bar <= last]
            last = max(at_bar, default=last)
        groups.append((first, last))
        first = last
    return groups
