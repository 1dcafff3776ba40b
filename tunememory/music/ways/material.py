"""What a way is given and what it gives."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from textwrap import wrap
from typing import TYPE_CHECKING

from tunememory.music.forms import aligned, bar_starts, fingers_of, letters_of, steps_of
from tunememory.music.tune import Start

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tunememory.music.pitch import Note
    from tunememory.music.strings import Tuning
    from tunememory.music.tune import Tune


WIDTH = 52
"""Characters in a line of material at most, where notes allow it: fits an A5 page in 12 points."""

_LABEL = 9


@dataclass(frozen=True, slots=True)
class Subject:
    """A tune to be worked on.

    Attributes:
        tune: The tune.
        tuning: What the instrument stands in for it.
        melody: The whole tune from its first note on, where it is known; else empty.
        others: Other tunes, those the player is surest of first.
    """

    tune: Tune
    tuning: Tuning
    melody: tuple[Note, ...] = ()
    others: tuple[Tune, ...] = ()

    @property
    def starts(self) -> tuple[Start, ...]:
        """The starts that are written down, each with its key where any is known."""
        return tuple(
            replace(start, key=start.key or self.tune.key)
            for start in self.tune.starts
            if start.notes
        )

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Those starts as what can be played, each in its own metre."""
        return tuple(
            Piece(f"{start.part} start", start, start.metre_in(self.tune.metre))
            for start in self.starts
        )

    @property
    def known(self) -> tuple[Start, ...]:
        """All that is known of the tune's notes: the whole melody, or else its starts."""
        if not self.melody:
            return self.starts
        pickup = self.starts[0].pickup if self.starts else Fraction(0)
        return (Start("whole tune", self.melody, pickup, key=self.tune.key),)


@dataclass(frozen=True, slots=True)
class Piece:
    """Something to play: for the staff and for the loudspeaker.

    Attributes:
        label: What it is, in a few words.
        start: Notes, pickup and key.
        metre: As in ABC ``M:``; may differ from the tune's.
        under: MIDI numbers that sound together with each note, one tuple a note; empty where
            the notes are alone.
    """

    label: str
    start: Start
    metre: str
    under: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Material:
    """What a way brings for one tune.

    Attributes:
        heading: In one line.
        lines: Plain text, rows aligned for letters of one width.
        pieces: What can be played to the player.
        caution: What is to be minded, or why there is no material; may be empty.
    """

    heading: str
    lines: tuple[str, ...] = ()
    pieces: tuple[Piece, ...] = ()
    caution: str = ""

    @property
    def possible(self) -> bool:
        """Whether there is anything to work with."""
        return bool(self.lines)


def rows_of(rows: Mapping[str, Sequence[str]], piece: Piece) -> list[str]:
    """Return named rows aligned note by note, with bar lines, indented under their names."""
    bars = bar_starts(piece.start.notes, piece.start.pickup, piece.metre)
    return [
        f"  {name:<{_LABEL}}{line}".rstrip()
        for name, line in aligned(rows, bars, WIDTH - _LABEL - 2)
    ]


def piece_lines(piece: Piece, tuning: Tuning, *, steps: bool = False) -> list[str]:
    """Return a piece as lines: its label, letters, fingers, and scale steps where wanted."""
    start = piece.start
    rows = {"letters": letters_of(start.notes, start.key)}
    if steps:
        rows["steps"] = steps_of(start.notes, start.key)
    rows["fingers"] = fingers_of(start.notes, tuning, piece.metre)
    return [piece.label, *rows_of(rows, piece)]


def prose(text: str, indent: str = "") -> list[str]:
    """Return a sentence as lines no longer than ``WIDTH``, the later ones indented."""
    return wrap(text, WIDTH, subsequent_indent=indent)


def nothing(heading: str, why: str) -> Material:
    """Return material that is not there, and why."""
    return Material(heading, caution=why)


NO_START = "No start is written down yet; add the first notes of a part."
NO_KEY = "The key is not known yet; add it to the tune."
