"""One start as ABC music code: notes to text and back."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.tunes.abc_melody import BarLine, InlineField, Melody, Sound, Trouble, join_sounds
from tunememory.tunes.abc_tokens import SIGNS
from tunememory.tunes.metre import bar_quarters, group_quarters, unit_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Note, Pitch

UNIT = Fraction(1, 8)
"""Unit note length of a start that does not say (``[L:1/16]``), of a whole note."""

_SIGN_OF = {alter: sign for sign, alter in SIGNS.items()}
_NO_KEY = dict.fromkeys("CDEFGAB", 0)
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
    alters = key.alters() if key is not None else _NO_KEY
    melody = Melody(alters, 4 * (unit or UNIT), metre)
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
    if not notes:
        return ""
    writer = _Writer(key.alters() if key is not None else _NO_KEY, 4 * unit, pickup, metre)
    place = 0
    while place < len(notes):
        if writer.is_triplet(notes[place : place + 3]):
            writer.triplet(notes[place : place + 3])
            place += 3
        elif writer.is_broken(notes[place : place + 2]):
            writer.broken(notes[place : place + 2])
            place += 2
        else:
            writer.note(notes[place].pitch, notes[place].quarters)
            place += 1
    prefix = "" if unit == UNIT else f"[L:{unit.numerator}/{unit.denominator}]"
    return prefix + "".join(writer.parts).strip()


class _Writer:
    def __init__(
        self, alters: dict[str, int], unit: Fraction, pickup: Fraction, metre: str
    ) -> None:
        self.parts: list[str] = []
        self._alters = alters
        self._bar_alters: dict[str, int] = {}
        self._unit = unit
        self._bar = bar_quarters(metre)
        self._group = group_quarters(metre)
        self._dotted = {unit * 3 / 2, unit / 2}
        # Place in the bar; a pickup begins that much before the first bar line.
        self._at = Fraction(0)
        if self._bar is not None and 0 < pickup < self._bar:
            self._at = self._bar - pickup

    def is_triplet(self, three: Sequence[Note]) -> bool:
        """Whether the notes are three equal ones whose plain length is two thirds as long."""
        first = three[0].quarters
        if first.denominator % 3 or len(three) < 3 or any(n.quarters != first for n in three):
            return False
        written = first / self._unit / _THIRD
        return written.denominator in {1, 2, 4, 8} and self._fits(3 * first)

    def _fits(self, quarters: Fraction) -> bool:
        return self._bar is None or self._at + quarters <= self._bar

    def triplet(self, three: Sequence[Note]) -> None:
        self._space()
        self.parts.append("(3")
        for note in three:
            self._write(note.pitch, note.quarters / _THIRD, tied=False)
        self._advance(3 * three[0].quarters)

    def is_broken(self, two: Sequence[Note]) -> bool:
        """Whether two notes within a bar share two unit lengths three to one."""
        if len(two) < 2 or {two[0].quarters, two[1].quarters} != self._dotted:
            return False
        return self._fits(2 * self._unit)

    def broken(self, two: Sequence[Note]) -> None:
        self._space()
        self._write(two[0].pitch, self._unit, tied=False)
        self.parts.append(">" if two[0].quarters > two[1].quarters else "<")
        self._write(two[1].pitch, self._unit, tied=False)
        self._advance(2 * self._unit)

    def note(self, pitch: Pitch, quarters: Fraction) -> None:
        held = False
        while quarters > 0:
            room = quarters if self._bar is None else min(quarters, self._bar - self._at)
            self._space()
            self._write(pitch, room, tied=room < quarters, held=held)
            self._advance(room)
            quarters -= room
            held = True

    def _space(self) -> None:
        if self.parts and self._at % self._group == 0 and not self.parts[-1].endswith("|"):
            self.parts.append(" ")

    def _write(self, pitch: Pitch, quarters: Fraction, *, tied: bool, held: bool = False) -> None:
        sign = ""
        if not held:
            name = pitch.letter
            if self._bar_alters.get(name, self._alters[name]) != pitch.alter:
                sign = _SIGN_OF[pitch.alter]
                self._bar_alters[name] = pitch.alter
        letter = pitch.letter if pitch.octave < 5 else pitch.letter.lower()
        marks = "'" * (pitch.octave - 5) + "," * (4 - pitch.octave)
        self.parts.append(
            sign + letter + marks + _length(quarters / self._unit) + ("-" if tied else "")
        )

    def _advance(self, quarters: Fraction) -> None:
        self._at += quarters
        if self._bar is not None and self._at >= self._bar:
            self._at -= self._bar
            self._bar_alters.clear()
            self.parts.append("|")


def _length(units: Fraction) -> str:
    top, bottom = units.numerator, units.denominator
    if bottom == 1:
        return "" if top == 1 else str(top)
    return f"{'' if top == 1 else top}/{'' if bottom == 2 else bottom}"
