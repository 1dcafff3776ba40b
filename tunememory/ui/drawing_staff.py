"""A start on the five-line staff, its letters and fingers under the notes."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from tunememory.tunes.staff import draw_staff

if TYPE_CHECKING:
    from tunememory.service.views import StartView
    from tunememory.tunes.key import Key
    from tunememory.ui.text import Span

_LINES = frozenset("─│┬┴┼├╯╭╮┤╰")
"""What the staff, the stems and the clef are drawn with: quieter than the notes."""


def staff_lines(view: StartView, key: Key | None, metre: str, width: int) -> list[list[Span]]:
    """Draw a start as a reader of music would see it, broken at bar lines where it must be.

    Args:
        view: The start.
        key: The tune's key, for the signature; the part's own key goes before it.
        metre: As in ABC ``M:``.
        width: Cells to keep within.

    Returns:
        Lines of spans; none for a start without notes.
    """
    if not view.letters:
        return []
    below = [names for names in (view.letters, view.fingers) if names]
    room = [max(map(len, names)) for names in zip(*below, strict=True)]
    lines: list[list[Span]] = []
    for staff in draw_staff(
        view.start.notes, view.start.pickup, view.start.key or key, metre, width=width, room=room
    ):
        lines.extend(inked(row) for row in staff.rows)
        lines.append([(staff.labelled(view.letters), "")])
        if view.fingers:
            lines.append([(staff.labelled(view.fingers), "quiet")])
    return lines


def inked(row: str) -> list[Span]:
    """Return a drawn row, its lines quieter than its notes."""
    return [
        ("".join(signs), "staff" if line else "strong")
        for line, signs in groupby(row, key=lambda sign: sign in _LINES)
    ]
