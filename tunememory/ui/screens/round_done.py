"""The end of a round in plain words: what came, and what would not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.check import RoundKind
from tunememory.ui.text import Span, bare, cell, width_of
from tunememory.ui.words import counted

if TYPE_CHECKING:
    from tunememory.service.round_run import RoundSummary

ROUND_NAMES = {
    RoundKind.FIRST: "First round",
    RoundKind.LAST: "Last round",
    RoundKind.LOOSE: "Loose round",
}

_AFTER = {
    RoundKind.FIRST: "What would not come is asked once more in the last round.",
    RoundKind.LAST: "That was today's last round.",
    RoundKind.LOOSE: "What would not come is asked again on another day.",
}


def summary_lines(
    summary: RoundSummary, kind: RoundKind, width: int, height: int, left: int = 0
) -> list[list[Span]]:
    """Return the end of a round as lines.

    Args:
        summary: What came of it.
        kind: Which round it was.
        width: Cells across.
        height: Rows there are; names that do not fit are counted.
        left: Prompts that were not asked because the player stopped.
    """
    name = ROUND_NAMES.get(kind, "Round")
    if not summary.asked:
        return [[(f"{name}: nothing was asked.", "strong")]]
    lines: list[list[Span]] = [
        [(f"{name} stopped here; every level is kept." if left else f"{name} done.", "bright")],
        [],
    ]
    failed = summary.would_not_come
    room = max(2, height - len(lines) - 5)
    shown = min(len(failed), max(1, room - 2)) if failed else 0
    if failed:
        lines.append([("Would not come", "strong")])
        lines.extend([("  ", ""), (_cut(title, width - 2), "")] for title in failed[:shown])
        if len(failed) > shown:
            lines.append([(f"  and {counted(len(failed) - shown, 'more', 'more')}", "quiet")])
        lines.append([])
    if summary.came:
        lines.append([("Came", "strong")])
        left = max(1, room - (shown + 2 if failed else 0))
        lines.extend(_flowing(summary.came, width, left))
        lines.append([])
    if failed:
        lines.append([(_AFTER.get(kind, ""), "quiet")])
    return lines


def _cut(title: str, width: int) -> str:
    return cell(title, max(1, min(width, width_of(bare(title)))))


def _flowing(titles: tuple[str, ...], width: int, most: int) -> list[list[Span]]:
    """Write titles one after the other, in at most ``most`` rows."""
    rows: list[str] = [""]
    for place, title in enumerate(titles):
        shown = _cut(title, width - 4)
        longer = f"{rows[-1]} · {shown}" if rows[-1] else shown
        if width_of(longer) <= width - 2:
            rows[-1] = longer
        elif len(rows) < most:
            rows.append(shown)
        else:
            rest = f" and {counted(len(titles) - place, 'more', 'more')}"
            rows[-1] = cell(rows[-1], min(width_of(rows[-1]), width - 2 - len(rest))) + rest
            break
    return [[("  ", ""), (row, "quiet")] for row in rows]
