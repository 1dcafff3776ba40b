"""What the entry forms without lengths share: places in the text, bar lines, holds, lengths."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.pitch import Note, Pitch

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

MOST_NOTES = 64
"""Longest start taken. Two bars of the busiest dance metre hold 32 notes."""


class EntryError(ValueError):
    """A start that cannot be read: one line naming the sign, its place and what to write."""


@dataclass(frozen=True, slots=True)
class BarSign:
    """A bar line in the text."""


@dataclass(frozen=True, slots=True)
class HoldSign:
    """The note before it lasts ``units`` longer, as the dash does in numbered notation."""

    units: int


Sign = Pitch | BarSign | HoldSign

# A dash with a blank or bar line on both sides lengthens the note before it; between two notes
# it only parts them.
_COMMON = re.compile(r"(?P<bar>[|:\]\[]*\|[|:\]\[]*)|(?P<hold>(?<![^\s|])-+(?![^\s|]))|[\s.;·]+|-")


def read_signs(
    text: str, note: re.Pattern[str], pitch_of: Callable[[re.Match[str]], Pitch | None], what: str
) -> list[Sign]:
    """Read bar lines, holds and notes in order.

    Args:
        text: As typed; a prefix blanked out, so that places count from its first sign.
        note: One note of the form.
        pitch_of: Gives the pitch of a match (``None`` where it only prepares the next one), or
            raises ``EntryError``.
        what: What the form is made of, for the error: ``"a scale step; write 1 to 7, …"``.

    Raises:
        EntryError: At the first sign that is none of these.
    """
    signs: list[Sign] = []
    place = 0
    while place < len(text):
        if found := note.match(text, place):
            pitch = pitch_of(found)
            if pitch is not None:
                signs.append(pitch)
        elif found := _COMMON.match(text, place):
            if found["bar"]:
                signs.append(BarSign())
            elif found["hold"]:
                if not any(isinstance(sign, Pitch) for sign in signs):
                    raise EntryError(
                        f"“-” at place {place + 1} holds no note; put a note before it"
                    )
                signs.append(HoldSign(len(found["hold"])))
        else:
            raise EntryError(f"“{text[place]}” at place {place + 1} is not {what}")
        place = found.end()
    return signs


def lay_out(signs: Sequence[Sign], metre: str) -> tuple[tuple[Note, ...], Fraction]:
    """Give the notes their lengths.

    Every note (and every hold) is one unit: an eighth, in halves (3/2) a quarter, in sixteenths
    a sixteenth. Where bar lines were typed and a unit twice or half as long fills more of the
    bars exactly, that is taken.

    Returns:
        The notes, and the length of the pickup: what stands before the first bar line where that
        is less than a bar.
    """
    pitches: list[Pitch] = []
    units: list[int] = []
    bars = [0]
    for sign in signs:
        if isinstance(sign, BarSign):
            bars.append(0)
        elif isinstance(sign, Pitch):
            pitches.append(sign)
            units.append(1)
            bars[-1] += 1
        else:
            units[-1] += sign.units
            bars[-1] += sign.units
    bar_length = bar_quarters(metre)
    unit = _unit(metre, [bar for bar in bars if bar], bar_length)
    notes = tuple(Note(pitch, count * unit) for pitch, count in zip(pitches, units, strict=True))
    pickup = Fraction(0)
    if bar_length is not None and len(bars) > 1 and bars[0] * unit < bar_length:
        pickup = bars[0] * unit
    return notes, pickup


def _unit(metre: str, bars: list[int], bar: Fraction | None) -> Fraction:
    """Length of one unit in quarters, given the units in each bar typed."""
    usual = Fraction(1, 2)
    denominator = metre.partition("/")[2].strip()
    if denominator == "16":
        usual = Fraction(1, 4)
    elif denominator == "2" and bar != 4:
        usual = Fraction(1)
    if bar is None or len(bars) < 2:
        return usual
    candidates = (usual, 2 * usual, usual / 2, 4 * usual)
    return max(candidates, key=lambda unit: sum(count * unit == bar for count in bars))
