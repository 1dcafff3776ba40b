"""A start as lines of text: letters, steps and fingers one above the other, note by note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tunememory.tunes.rows import aligned

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.service.views import StartView

FORMS = ("letters", "steps", "fingers")
"""The rows a start can be written in, from top to bottom."""


def start_lines(
    view: StartView, width: int, forms: Sequence[str] = ("letters", "fingers")
) -> list[tuple[str, str]]:
    """Lay a start out in rows that are aligned note by note, with bar lines.

    Args:
        view: The start.
        width: Cells to keep within; a single note wider than that is let stand.
        forms: Which of ``FORMS`` to write, top row first; letters where it has none of them.

    Returns:
        ``(form, line)`` pairs; no line for a start with no notes.
    """
    rows = {"letters": view.letters, "steps": view.steps, "fingers": view.fingers}
    shown = {form: rows[form] for form in forms if rows[form]}
    return aligned(shown or {"letters": view.letters}, view.bars, width)
