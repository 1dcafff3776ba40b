"""Where two starts that begin alike part, in words."""

from __future__ import annotations


def parting(note: int) -> str:
    """Return where two starts part.

    Args:
        note: Number of the first note that differs, from 1 on; 0 when none does as far as both
            are written.

    >>> parting(5), parting(1), parting(0)
    ('they part at note 5', 'alike after the first note', 'alike as far as they are written')
    """
    if note == 0:
        return "alike as far as they are written"
    return "alike after the first note" if note == 1 else f"they part at note {note}"
