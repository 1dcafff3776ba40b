"""A start in Plaine & Easie code, the notation of library catalogues of music.

Plaine & Easie Code, the public specification of the International Association of Music
Libraries and the Répertoire International des Sources Musicales, version 2: octave signs and
durations carry over until changed, an accidental holds for its note name to the bar line, ``_``
is a tie and the note it leads to, ``dur(…;n)`` is a group of n in one ``dur``.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.errors import NotDoneError
from tunememory.music.key import SHARPS, alters_of
from tunememory.music.metre import cut_bars, whole_notes
from tunememory.music.spelling import BarAccidentals

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from tunememory.music.key import Key
    from tunememory.music.metre import Piece
    from tunememory.music.pitch import Note, Pitch


_CLEF = "%G-2"
_LOWEST, _HIGHEST = 1, 7
_SIGNS = {-2: "bb", -1: "b", 0: "n", 1: "x", 2: "xx"}
# Length in quarter notes of each duration figure, longest first.
_FIGURES = {
    Fraction(4): "1", Fraction(2): "2", Fraction(1): "4", Fraction(1, 2): "8",
    Fraction(1, 4): "6", Fraction(1, 8): "3", Fraction(1, 16): "5", Fraction(1, 32): "7",
}  # fmt: skip
_DOTTED = {
    length * factor: figure + dots
    for factor, dots in ((Fraction(7, 4), ".."), (Fraction(3, 2), "."), (Fraction(1), ""))
    for length, figure in _FIGURES.items()
}
# Written length of one note of a group of n, as a share of its sounding length.
_GROUPS = {3: Fraction(3, 2), 5: Fraction(5, 4), 7: Fraction(7, 4)}


def write_code(notes: Sequence[Note], *, pickup: Fraction, metre: str, key: Key | None) -> str:
    """Return a start in Plaine & Easie code, with clef, signature and metre.

    Args:
        notes: Melody notes.
        pickup: Quarter notes before the first bar line, 0 for none.
        metre: As in ABC ``M:``; free or unknown metre is left out.
        key: Its signature is written; ``None`` for none.

    Raises:
        NotDoneError: A length is neither a figure, nor a sum of them, nor in a group of 3, 5 or 7;
            or a note lies below C1 or above B7.
    """
    writer = _Writer(alters_of(key))
    for bar in cut_bars(notes, pickup, metre):
        writer.bar(bar.pieces)
        if bar.closed:
            writer.parts.append("/")
    return f"{_CLEF}{_signature(key)}{_metre(metre)} {''.join(writer.parts)}"


def _signature(key: Key | None) -> str:
    alters = alters_of(key)
    sharps = "".join(letter for letter in SHARPS if alters[letter] > 0)
    flats = "".join(letter for letter in reversed(SHARPS) if alters[letter] < 0)
    return (f"$x{sharps}" if sharps else "") + (f"$b{flats}" if flats else "")


def _metre(metre: str) -> str:
    if metre.upper() in {"C", "C|"}:
        return "@c" + "/" * (len(metre) > 1)
    whole = whole_notes(metre)
    if whole is None:
        return ""
    unit = metre.rpartition("/")[2]
    return f"@{whole * int(unit)}/{unit}"


class _Writer:
    def __init__(self, alters: Mapping[str, int]) -> None:
        self.parts: list[str] = []
        self._accidentals = BarAccidentals(alters)
        self._octave = ""
        self._figure = ""

    def bar(self, pieces: Sequence[Piece]) -> None:
        self._accidentals.end_bar()
        place = 0
        while place < len(pieces):
            odd = _odd_part(pieces[place].quarters)
            if odd == 1:
                self._piece(pieces[place], pieces[place].quarters)
                place += 1
                continue
            group = _group(pieces[place:], odd)
            self._figure = _DOTTED[sum((piece.quarters for piece in group), Fraction(0))]
            self.parts.append(f"{self._figure}(")
            # A group begins with a duration, which stands before the octave.
            self._figure = _figures(group[0].quarters * _GROUPS[odd])[0]
            self.parts.append(self._figure)
            for piece in group:
                self._piece(piece, piece.quarters * _GROUPS[odd])
            self.parts.append(f";{odd})")
            self._figure = ""
            place += len(group)

    def _piece(self, piece: Piece, quarters: Fraction) -> None:
        for place, figure in enumerate(_figures(quarters)):
            if piece.held or place:
                self._say_figure(figure)
                self.parts.append("_")
            else:
                self._note(piece.pitch, figure)

    def _note(self, pitch: Pitch, figure: str) -> None:
        if not _LOWEST <= pitch.octave <= _HIGHEST:
            raise NotDoneError("a note is too low or too high for Plaine & Easie code")
        octave = "'" * (pitch.octave - 3) or "," * (4 - pitch.octave)
        if octave != self._octave:
            self.parts.append(octave)
            self._octave = octave
        self._say_figure(figure)
        sign = self._accidentals.before(pitch)
        if sign is not None:
            self.parts.append(_SIGNS[sign])
        self.parts.append(pitch.letter)

    def _say_figure(self, figure: str) -> None:
        if figure != self._figure:
            self.parts.append(figure)
            self._figure = figure


def _odd_part(length: Fraction) -> int:
    """The part of a length's denominator that halving cannot reach."""
    odd = length.denominator
    while odd % 2 == 0:
        odd //= 2
    return odd


def _group(pieces: Sequence[Piece], odd: int) -> Sequence[Piece]:
    """The first pieces that together have a plain length."""
    total = Fraction(0)
    if odd in _GROUPS:
        for place, piece in enumerate(pieces):
            total += piece.quarters
            if _odd_part(piece.quarters) not in {1, odd}:
                break
            if total in _DOTTED:
                return pieces[: place + 1]
    raise NotDoneError("a note length has no figure in Plaine & Easie code")


def _figures(quarters: Fraction) -> list[str]:
    """Durations, longest first, that add up to a length."""
    figures: list[str] = []
    left = quarters
    while left > 0:
        length = max((one for one in _DOTTED if one <= left), default=None)
        if length is None:
            raise NotDoneError("a note length has no figure in Plaine & Easie code")
        figures.append(_DOTTED[length])
        left -= length
    return figures
