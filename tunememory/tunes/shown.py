"""A start in the forms it is shown in, note by note."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.fingering import COMMON_BAR, fingering
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.places import place_name
from tunememory.tunes.spelling import abc_letter, step_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Note
    from tunememory.tunes.tune import Tune
    from tunememory.tunes.tuning import Tuning

FIRST_NOTES = 8
"""Notes of a start given with a name: about a bar of a reel and its pickup."""


def letters_of(notes: Sequence[Note], key: Key | None) -> tuple[str, ...]:
    """ABC letters, one a note; an accidental stands wherever the key has another."""
    return tuple(abc_letter(note.pitch, key) for note in notes)


def steps_of(notes: Sequence[Note], key: Key | None) -> tuple[str, ...]:
    """Scale steps, one a note; empty when no key is known."""
    return () if key is None else tuple(step_of(note.pitch, key) for note in notes)


def fingers_of(
    notes: Sequence[Note], tuning: Tuning, bar: Fraction = COMMON_BAR
) -> tuple[str, ...]:
    """String and finger of each note in the easiest fingering, ``"–"`` out of reach."""
    return tuple(place_name(place, tuning) for place in fingering(notes, tuning, bar).places)


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
