"""Rows of text aligned note by note, one above the other, with bar lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

BAR = "│ "
_PLAIN = (" ", BAR)


def aligned(
    rows: Mapping[str, Sequence[str]],
    bars: Collection[int],
    width: int,
    drawn: Mapping[str, tuple[str, str]] | None = None,
) -> list[tuple[str, str]]:
    """Lay rows of short words (letters, steps, fingers) out so that their notes stand together.

    What is too long for the width goes on in further groups of rows, broken at a bar line where
    one is near enough, and never in the middle of a note.

    Args:
        rows: By name, from top to bottom; empty ones are left out.
        bars: Numbers of the notes that a bar line stands before.
        width: Characters to keep within; a single note wider than that is let stand.
        drawn: By name of a row, the sign that fills it up and its bar line of two signs, where
            they are not a blank and ``BAR``.

    Returns:
        ``(name, line)`` pairs; none where there are no notes.
    """
    filled = {name: notes for name, notes in rows.items() if notes}
    if not filled:
        return []
    count = min(map(len, filled.values()))
    wide = [max(len(notes[i]) for notes in filled.values()) + 1 for i in range(count)]
    lines: list[tuple[str, str]] = []
    for first, last in _groups(wide, bars, width):
        for name, notes in filled.items():
            filler, bar = (drawn or {}).get(name, _PLAIN)
            pieces = [
                (bar if i in bars and i else "") + notes[i].ljust(wide[i], filler)
                for i in range(first, last)
            ]
            lines.append((name, "".join(pieces).rstrip()))
    return lines


def _groups(wide: Sequence[int], bars: Collection[int], width: int) -> list[tuple[int, int]]:
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
