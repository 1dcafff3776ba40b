"""What was done on a tune, and what to try next, as lines on its page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.ui.drawing_journal import done_words
from tunememory.ui.drawing_tune import wrapped
from tunememory.ui.text import cell
from tunememory.ui.words import ago, counted

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from tunememory.service.day_views import JournalEntry, WayView
    from tunememory.ui.text import Span

WHEN = 15
"""Cells of the day something was done, a blank included: as beside what came."""

MOST_WORDS = 6
"""Lines of what the player wrote, or of dates, that are shown."""


def ways_lines(
    ways: Sequence[WayView], entries: Sequence[JournalEntry], today: date, width: int
) -> list[list[Span]]:
    """Say which way to try next, which were tried when, and what was written about it.

    Args:
        ways: Every way of working on the tune.
        entries: What was done on it, newest first.
        today: The present practice day.
        width: Cells across.
    """
    lines: list[list[Span]] = []
    for way in ways:
        if way.next:
            lines += _line("→ next", f"{way.name}: {way.purpose}", width, "bright", "")
    done = [way for way in ways if way.done]
    for way in sorted(done, key=lambda way: way.done[-1], reverse=True):
        times = f", {counted(len(way.done), 'day')}" if len(way.done) > 1 else ""
        lines += _line(ago(way.done[-1], today), f"{way.name}{times}", width)
    said = [entry for entry in entries if entry.words or entry.played_at]
    for entry in said[:MOST_WORDS]:
        lines += _line(ago(entry.day, today), done_words(entry), width)
    waiting = [way.name for way in ways if way.possible and not way.done and not way.next]
    if waiting:
        lines += _line("not yet", ", ".join(waiting), width, "quiet", "quiet")
    return lines


def _line(
    when: str, what: str, width: int, when_role: str = "quiet", role: str = ""
) -> list[list[Span]]:
    rows = wrapped(what, width - WHEN, role)
    return [
        [(cell(when if place == 0 else "", WHEN), when_role), *row]
        for place, row in enumerate(rows)
    ]
