"""One start as ABC music code: notes to text and back."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.abc_melody import BarLine, InlineField, Melody, Sound, Trouble, join_sounds
from tunememory.tunes.abc_tokens import SIGNS
from tunememory.tunes.bars import cut_bars
from tunememory.tunes.metre import bar_quarters, group_quarters, unit_length
from tunememory.tunes.spelling import abc_name, alters_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tunememory.tunes.bars import CutBar, Piece
    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Note, Pitch

UNIT = Fraction(1, 8)
"""Unit note length of a start that does not say (``[L:1/16]``), of a whole note."""

_SIGN_OF = {alter: sign for sign, alter in SIGNS.items()}
_THIRD = Fraction(2, 3)


@dataclass(frozen=True, slots=True)
class ParsedNotes:
    """What a line of music code says.

    Attributes:
        notes: Ties merged, graces dropped, a chord as its highest note, rests added to the note
            before them.
        pickup: Quarter notes before the first bar line where that is less than a bar, else 0.
        problem: The first thing that could not be read, in one line; empty when all could.
    """

    notes: tuple[Note, ...]
    pickup: Fraction
    problem: str = ""


def parse_notes(
    text: str, key: Key | None, metre: str, unit: Fraction | None = None
) -> ParsedNotes:
    """Read ``text`` as ABC 2.1 music code (chapter 4). Never raises.

    Inline ``[L:…]`` and ``[M:…]`` fields are obeyed.

    Args:
        text: Music code, bar lines and all.
        key: Signature in force; ``None`` for none.
        metre: As in ``M:``; empty or unknown is free: bar lines then mean nothing for the pickup.
        unit: Unit note length as a fraction of a whole note; ``None`` is an eighth.
    """
    melody = Melody(alters_of(key), 4 * (unit or UNIT), metre)
    sounds: list[Sound] = []
    problems: list[str] = []
    before_bar: Fraction | None = None
    bar_metre = metre
    for event in melody.read(text):
        match event:
            case Sound():
                sounds.append(event)
            case BarLine(":"):
                problems.append("“:” is no bar line; write “|:” or “:|”")
            case BarLine() if before_bar is None and sounds:
                before_bar = sum((note.quarters for note in join_sounds(sounds)), Fraction(0))
            case InlineField("L", value) if unit_length(value):
                melody.unit = 4 * (unit_length(value) or UNIT)
            case InlineField("M", value):
                melody.metre = value
                if not sounds:
                    bar_metre = value
            case InlineField(letter, value) if letter in "KL":
                problems.append(f"“[{letter}:{value}]” cannot be used here; leave it out")
            case Trouble():
                problems.append(
                    f"“{event.text}” at place {event.place + 1} is not a note; "
                    "notes are C to B and c to b"
                )
    bar = bar_quarters(bar_metre)
    pickup = Fraction(0)
    if bar is not None and before_bar is not None and before_bar < bar:
        pickup = before_bar
    return ParsedNotes(join_sounds(sounds), pickup, problems[0] if problems else "")


def write_notes(
    notes: Sequence[Note],
    *,
    pickup: Fraction,
    metre: str,
    key: Key | None,
    unit: Fraction = UNIT,
) -> str:
    """Write notes as ABC 2.1 music code that ``parse_notes`` reads back the same.

    Bar lines stand where the metre puts them (none in free metre), notes are grouped as in tune
    books, a note over a bar line is tied, three equal notes in the time of two are a triplet,
    dotted pairs are written ``A>B``.

    Args:
        notes: Melody notes; empty gives an empty text.
        pickup: Quarter notes before the first bar line; less than a bar, else it is left out.
        metre: As in ``M:``.
        key: Signature in force; ``None`` for none.
        unit: Unit note length as a fraction of a whole note. Any but an eighth is written in
            front (``[L:1/16]``).
    """
    writer = _Writer(alters_of(key), 4 * unit, group_quarters(metre))
    for bar in cut_bars(notes, pickup, metre):
        writer.bar(bar)
    prefix = "" if unit == UNIT or not notes else f"[L:{unit.numerator}/{unit.denominator}]"
    return prefix + "".join(writer.parts).strip()


class BarSpelling:
    """Writes notes with the accidentals they need after those before them in the bar.

    An accidental holds for its letter in all octaves to the end of the bar (ABC 2.1, 11.3).
    """

    def __init__(self, alters: Mapping[str, int]) -> None:
        self._alters = alters
        self._bar: dict[str, int] = {}

    def end_bar(self) -> None:
        """Forget the accidentals of the bar."""
        self._bar.clear()

    def note(self, pitch: Pitch, *, held: bool = False) -> str:
        """Return the note without its length; a held one is written without accidental."""
        if held or self._bar.get(pitch.letter, self._alters[pitch.letter]) == pitch.alter:
            return abc_name(pitch)
        self._bar[pitch.letter] = pitch.alter
        return _SIGN_OF[pitch.alter] + abc_name(pitch)


def write_length(units: Fraction) -> str:
    """Return a length in unit lengths as in ABC (4.3): ``""``, ``"3"``, ``"/"``, ``"3/"``."""
    top, bottom = units.numerator, units.denominator
    if bottom == 1:
        return "" if top == 1 else str(top)
    return f"{'' if top == 1 else top}/{'' if bottom == 2 else bottom}"


class _Writer:
    def __init__(self, alters: Mapping[str, int], unit: Fraction, group: Fraction) -> None:
        self.parts: list[str] = []
        self._spelling = BarSpelling(alters)
        self._unit = unit
        self._dotted = {unit * 3 / 2, unit / 2}
        self._group = group

    def bar(self, bar: CutBar) -> None:
        place = 0
        while place < len(bar.pieces):
            piece = bar.pieces[place]
            if piece.at % self._group == 0 and place:
                self.parts.append(" ")
            if self._is_triplet(bar.pieces[place : place + 3]):
                self.parts.append("(3")
                for inner in bar.pieces[place : place + 3]:
                    self._write(inner, inner.quarters / _THIRD)
                place += 3
            elif self._is_broken(bar.pieces[place : place + 2]):
                second = bar.pieces[place + 1]
                self._write(piece, self._unit)
                self.parts.append(">" if piece.quarters > second.quarters else "<")
                self._write(second, self._unit)
                place += 2
            else:
                self._write(piece, piece.quarters)
                place += 1
        if bar.closed:
            self.parts.append("|")
            self._spelling.end_bar()

    def _is_triplet(self, three: Sequence[Piece]) -> bool:
        """Whether the pieces are three equal notes whose plain length is two thirds as long."""
        first = three[0].quarters
        if first.denominator % 3 or len(three) < 3:
            return False
        if any(piece.quarters != first or not piece.whole for piece in three):
            return False
        return (first / self._unit / _THIRD).denominator in {1, 2, 4, 8}

    def _is_broken(self, two: Sequence[Piece]) -> bool:
        """Whether the pieces are two notes that share two unit lengths three to one."""
        return (
            len(two) == 2
            and {two[0].quarters, two[1].quarters} == self._dotted
            and two[0].whole
            and two[1].whole
        )

    def _write(self, piece: Piece, quarters: Fraction) -> None:
        self.parts.append(self._spelling.note(piece.pitch, held=piece.held))
        self.parts.append(write_length(quarters / self._unit) + ("-" if piece.tied else ""))
