"""A start on the strings it is played on, one line a string, fingers in the order of time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.rows import aligned
from tunememory.ui.drawing_staff import inked

if TYPE_CHECKING:
    from tunememory.service.views import StartView
    from tunememory.ui.text import Span

_LETTERS = "letters"
_BLANK_BAR = (" ", "  ")


def strings_lines(view: StartView, width: int) -> list[list[Span]]:
    """Draw a start as lines for the strings, the highest on top, its letters beneath.

    A note out of reach has its letter in brackets.

    Args:
        view: The start.
        width: Cells to keep within.

    Returns:
        Lines of spans; none for a start without notes, or where there are no strings.
    """
    on = view.strings
    if on is None or not view.letters:
        return []
    names = on.strings.string_names
    from_top = sorted(range(len(names)), key=on.strings.strings.__getitem__, reverse=True)
    rows = {
        str(string): [
            mark if place is not None and place.string == string else "─"
            for place, mark in zip(on.places, on.marks, strict=True)
        ]
        for string in from_top
    }
    bars = dict.fromkeys(rows, ("─", "┼─"))
    bars[str(from_top[0])] = ("─", "┬─")
    bars[str(from_top[-1])] = ("─", "┴─")
    rows[_LETTERS] = [
        letter if place is not None else f"({letter})"
        for letter, place in zip(view.letters, on.places, strict=True)
    ]
    label = max(map(len, names)) + 1
    lines: list[list[Span]] = []
    # A line begins before its first note and goes on after its last one.
    laid_out = aligned(rows, view.bars, width - label - 2, {**bars, _LETTERS: _BLANK_BAR})
    for place, (name, row) in enumerate(laid_out):
        if name == _LETTERS:
            lines.append([(" " * (label + 1) + row, "")])
            continue
        if place and place % len(rows) == 0:
            lines.append([])
        lines.append([(names[int(name)].ljust(label), "quiet"), *inked("─" + row)])
    if None in on.places:
        lines.append([("In brackets: out of reach of the hand.", "quiet")])
    return lines
