"""How far a long piece of work is: a staff line that fills, a note at its end."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tunememory.ui.text import Span

WIDEST = 60
"""Cells of the line at most."""


def bar_row(share: float, width: int) -> list[Span]:
    """Draw the share done, 0 to 1, in at most ``width`` cells."""
    across = min(WIDEST, width)
    filled = round((across - 1) * min(1.0, max(0.0, share)))
    return [("━" * filled, "accent"), ("●", "accent"), ("─" * (across - 1 - filled), "staff")]
