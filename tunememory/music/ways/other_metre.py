"""A reel as a jig and a jig as a reel, in two ways each.

Both ways map time within a group and keep the notes. *Long and short*: each quarter of the reel
takes three eighths, so that two eighths become a quarter and an eighth, and a bar becomes two.
*Three in a group*: each half bar of the reel becomes three eighths, a bar stays a bar; of four
eighths the second is left out. The way from jig to reel is the same read backwards; three
eighths then become a quarter and two eighths. The rules are our own, after common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from tunememory.music.abc.notes import write_notes
from tunememory.music.metre import bar_quarters, group_quarters, is_compound
from tunememory.music.pitch import Note
from tunememory.music.ways.material import NO_START, Material, Piece, nothing, piece_lines, prose

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.music.pitch import Pitch
    from tunememory.music.tune import Start
    from tunememory.music.ways.material import Subject


_EIGHTH = Fraction(1, 2)
_BEAT = Fraction(3, 2)
_HALF_BAR = Fraction(2)

_LONG_AND_SHORT = ((Fraction(0), Fraction(0)), (_EIGHTH, Fraction(1)), (Fraction(1), _BEAT))
_THREE = (
    (Fraction(0), Fraction(0)),
    (Fraction(1), _EIGHTH),
    (_BEAT, Fraction(1)),
    (_HALF_BAR, _BEAT),
)
"""Places in a group of the reel, in quarters, and where they come in the jig."""

_NAME = "Reel to jig and back"
_ONLY_THESE = "This goes between reels and jigs: from 4/4, 2/2 or 2/4 to 6/8, and back."


@dataclass(frozen=True, slots=True)
class _Timed:
    pitch: Pitch
    begin: Fraction
    end: Fraction


def other_metre(subject: Subject) -> Material:
    """The first start as a jig if it is a reel, as a reel if it is a jig."""
    if not subject.starts:
        return nothing(_NAME, NO_START)
    metre = subject.starts[0].metre_in(subject.tune.metre)
    both = recast(subject.starts[0], metre)
    if not both:
        return nothing(_NAME, _ONLY_THESE)
    heading = "As a reel" if is_compound(metre) else "As a jig"
    lines: list[str] = []
    pieces: list[Piece] = []
    for one in both:
        piece = replace(one, label=f"{heading}: {one.label}")
        lines += piece_lines(piece, subject.tuning)
        # The rhythm is what changes, so it is written out too.
        lines += prose(f"  lengths  {_with_lengths(piece)}", " " * 11)
        pieces.append(piece)
    lines += prose("Keep the beat of the foot the same and change from one to the other.")
    return Material(heading, tuple(lines), tuple(pieces))


def _with_lengths(piece: Piece) -> str:
    start = piece.start
    return write_notes(start.notes, pickup=start.pickup, metre=piece.metre, key=start.key)


def recast(start: Start, metre: str) -> tuple[Piece, ...]:
    """Return a start by both rules, each under its name.

    Empty for metres that are neither a reel's nor a jig's.
    From 4/4, 2/2 and 2/4 to 6/8; from 6/8 and 12/8 to 4/4. A reel printed in 2/4 with sixteenths
    is taken as 4/4 with eighths. A last group that is not full is filled by its last note.
    """
    bar = bar_quarters(metre)
    if bar is None or not start.notes:
        return ()
    if is_compound(metre):
        eighths = group_quarters(metre) == _BEAT
        return _to_reel(start, bar) if eighths and bar % 3 == 0 else ()
    if bar == 2 and _in_sixteenths(start.notes):
        doubled = tuple(Note(note.pitch, 2 * note.quarters) for note in start.notes)
        start, bar = replace(start, notes=doubled, pickup=2 * start.pickup), Fraction(4)
    return _to_jig(start) if bar in {2, 4} else ()


def _in_sixteenths(notes: Sequence[Note]) -> bool:
    return 3 * sum(note.quarters < _EIGHTH for note in notes) > len(notes)


def _to_jig(start: Start) -> tuple[Piece, ...]:
    long_short = _stretched(_filled(start, Fraction(1)), _LONG_AND_SHORT)
    three = _in_threes(_filled(start, _HALF_BAR))
    return (Piece("long and short", long_short, "6/8"), Piece("three in a group", three, "6/8"))


def _to_reel(start: Start, bar: Fraction) -> tuple[Piece, ...]:
    filled = _filled(start, _BEAT)
    back = tuple((there, here) for here, there in _LONG_AND_SHORT)
    open_up = tuple((there, here) for here, there in _THREE)
    # A bar of two beats makes half a bar of the reel by the first rule, a bar by the second.
    first, second = ("2/4", "C|") if bar == 3 else ("C|", "C|")
    return (
        Piece("long and short", _stretched(filled, back), first),
        Piece("three in a group", _stretched(filled, open_up), second),
    )


def _filled(start: Start, group: Fraction) -> Start:
    """``start`` with its last note held to the end of its group."""
    total = sum((note.quarters for note in start.notes), -start.pickup)
    short = -total % group
    last = start.notes[-1]
    return replace(
        start,
        notes=(*start.notes[:-1], Note(last.pitch, last.quarters + short)),
        written="",
        doubt="",
    )


def _stretched(start: Start, turns: Sequence[tuple[Fraction, Fraction]]) -> Start:
    """``start`` with every onset moved within its group, straight between the ``turns``."""
    notes = [
        Note(note.pitch, _place(at + note.quarters, turns) - _place(at, turns))
        for at, note in start.onsets
    ]
    return replace(start, notes=tuple(notes), pickup=-_place(-start.pickup, turns))


def _place(at: Fraction, turns: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    groups, rest = divmod(at, turns[-1][0])
    moved = groups * turns[-1][1]
    for (here, there), (next_here, next_there) in pairwise(turns):
        if rest < next_here:
            return moved + there + (rest - here) * (next_there - there) / (next_here - here)
    return moved  # never reached: rest is below the last turn


def _in_threes(start: Start) -> Start:
    """Each half bar as three eighths; of a pickup the last one or two notes, an eighth each."""
    sounds = [_Timed(note.pitch, at, at + note.quarters) for at, note in start.onsets]
    before = [sound for sound in sounds if sound.begin < 0][-2:]
    notes = [Note(sound.pitch, _EIGHTH) for sound in before]
    group = Fraction(0)
    while group < sounds[-1].end:
        inside = [s for s in sounds if s.begin < group + _HALF_BAR and s.end > group]
        three = _three(inside, group + _HALF_BAR / 2)
        if notes and inside[0].begin < group:
            held = notes.pop()
            three[0] = Note(held.pitch, held.quarters + three[0].quarters)
        notes += three
        group += _HALF_BAR
    return replace(start, notes=tuple(notes), pickup=_EIGHTH * len(before))


def _three(inside: Sequence[_Timed], middle: Fraction) -> list[Note]:
    """A half bar as a dotted quarter, quarter and eighth, or three eighths.

    Of more than three notes the first, the one that sounds in the middle and the last are kept.
    """
    if len(inside) > 3:
        strong = next(i for i, s in enumerate(inside) if s.begin <= middle < s.end)
        strong = min(max(strong, 1), len(inside) - 2)
        inside = (inside[0], inside[strong], inside[-1])
    lengths = {1: (_BEAT,), 2: (2 * _EIGHTH, _EIGHTH), 3: (_EIGHTH,) * 3}[len(inside)]
    return [Note(s.pitch, length) for s, length in zip(inside, lengths, strict=True)]
