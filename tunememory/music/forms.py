"""A start in the forms it is shown in, note by note."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.music.fingering import fingering
from tunememory.music.metre import bar_quarters
from tunememory.music.spelling import abc_letter, step_of
from tunememory.music.strings import place_name

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from tunememory.music.key import Key
    from tunememory.music.pitch import Note
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Tune


FIRST_NOTES = 8
"""Notes of a start given with a name: about a bar of a reel and its pickup."""


def letters_of(notes: Sequence[Note], key: Key | None) -> tuple[str, ...]:
    """ABC letters, one a note; an accidental stands wherever the key has another."""
    return tuple(abc_letter(note.pitch, key) for note in notes)


def steps_of(notes: Sequence[Note], key: Key | None) -> tuple[str, ...]:
    """Scale steps, one a note; empty when no key is known."""
    return () if key is None else tuple(step_of(note.pitch, key) for note in notes)


def fingers_of(notes: Sequence[Note], tuning: Tuning, metre: str = "") -> tuple[str, ...]:
    """String and finger of each note in the easiest fingering, ``"–"`` out of reach."""
    return tuple(place_name(place, tuning) for place in fingering(notes, tuning, metre).places)


def bar_starts(notes: Sequence[Note], pickup: Fraction, metre: str) -> tuple[int, ...]:
    """Indices of the notes that a bar line stands before.

    A bar line that falls inside a held note is left out. The first note has none before it.

    Args:
        notes: The start.
        pickup: Quarter notes before the first bar line, 0 for none.
        metre: As in ABC ``M:``; no bar lines when it is free or unknown.
    """
    bar = bar_quarters(metre)
    if bar is None:
        return ()
    starts = []
    at = -pickup if 0 < pickup < bar else Fraction(0)
    for index, note in enumerate(notes):
        if index and at >= 0 and at % bar == 0:
            starts.append(index)
        at += note.quarters
    return tuple(starts)


def barred(signs: Sequence[str], bars: Collection[int]) -> str:
    """Signs of notes on one line, a stroke before each that begins a bar.

    Args:
        signs: Letters, fingers or steps, one a note.
        bars: As ``bar_starts`` gives them.
    """
    return " ".join(
        f"| {sign}" if place and place in bars else sign for place, sign in enumerate(signs)
    )


def first_notes(tune: Tune, part: str = "") -> str:
    """The letters a part begins with, such as ``"D | G B G d"``; empty where none are written.

    Args:
        tune: The tune.
        part: Which part; the first one written down when empty.
    """
    for start in tune.starts:
        if start.notes and part in {"", start.part}:
            letters = letters_of(start.notes[:FIRST_NOTES], start.key or tune.key)
            return barred(
                letters, bar_starts(start.notes, start.pickup, start.metre_in(tune.metre))
            )
    return ""


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
