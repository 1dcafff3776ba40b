"""Tunes of the same root to go on to, and back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tunememory.music.metre import bar_quarters
from tunememory.music.ways.material import NO_KEY, Material, Piece, nothing, piece_lines, prose

if TYPE_CHECKING:
    from tunememory.music.tune import Start, Tune
    from tunememory.music.ways.material import Subject


MOST = 3
"""Tunes shown."""


def neighbours(subject: Subject) -> Material:
    """The surest tunes of the same root in the same tuning, those of the same kind first."""
    heading = "Go on to another, and back"
    key = subject.tune.key
    if key is None:
        return nothing(heading, NO_KEY)
    found = same_root(subject)
    if not found:
        return nothing(heading, f"No other tune on {key.root} in this tuning.")
    lines: list[str] = []
    pieces: list[Piece] = []
    for other in found:
        about = ", ".join(filter(None, (other.kind, other.key.short if other.key else "")))
        label = f"{other.title} ({about})"
        start = _first(other)
        if start is None:
            lines += prose(label, "  ")
            continue
        piece = Piece(label, start, other.metre)
        _, *rows = piece_lines(piece, subject.tuning)
        lines += [*prose(label, "  "), *rows]
        pieces.append(piece)
    lines += prose("Twice through this one, straight into the next, and back without a stop.")
    return Material(heading, tuple(lines), tuple(pieces))


def same_root(subject: Subject) -> tuple[Tune, ...]:
    """Return up to ``MOST`` tunes to go on to, of ``subject.others`` in their order.

    Kept or in learning, on the same root, in the same tuning; the same kind comes first, then
    the same length of bar, then any other.
    """
    tune = subject.tune
    root = tune.key.root_class if tune.key else None
    fitting = [
        other
        for other in subject.others
        if other.uuid != tune.uuid
        and other.status.asked_for
        and other.key is not None
        and other.key.root_class == root
        and (other.tuning or subject.tuning) == subject.tuning
    ]
    bar = bar_quarters(tune.metre)
    fitting.sort(
        key=lambda other: (
            0 if tune.kind and other.kind == tune.kind else 1 + (bar_quarters(other.metre) != bar)
        )
    )
    return tuple(fitting[:MOST])


def _first(tune: Tune) -> Start | None:
    return next((replace(s, key=s.key or tune.key) for s in tune.starts if s.notes), None)
