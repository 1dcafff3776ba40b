"""The header of an ABC tune (ABC 2.1, chapter 3)."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import takewhile
from typing import TYPE_CHECKING

from tunememory.notation.abc_body import is_music
from tunememory.notation.abc_key import NO_KEY, KeyField, read_key
from tunememory.notation.abc_lines import DIRECTIVE, MUSIC, Line, tune_lines
from tunememory.notation.abc_text import read_text, resolve
from tunememory.tunes.metre import default_unit, unit_length, whole_notes
from tunememory.tunes.text import NOTE_LIMIT, clean_text

if TYPE_CHECKING:
    from collections.abc import Sequence

_KINDS = {
    "double jig": "jig", "slipjig": "slip jig", "hop jig": "slip jig", "reels": "reel",
    "jigs": "jig", "hornpipes": "hornpipe", "polkas": "polka", "waltzes": "waltz",
    "marches": "march", "slides": "slide", "airs": "air", "slow air": "air", "valse": "waltz",
}  # fmt: skip

_LATE = frozenset("RSBNH")
"""Fields about the whole tune that are heeded right after its key too."""


@dataclass(slots=True)
class Header:
    """Fields of a tune's header.

    Attributes:
        line: First line of the tune.
        fields: Values of each field letter in order, the file's header first.
        directives: ``%%`` lines, as ``(name, value)``.
        key: The ``K:`` field that ends the header.
        metre: Value of ``M:``; empty for free metre, or where it is no metre.
        unit: Unit note length, of a whole note.
        doubts: What could not be read, each with its line.
    """

    line: int
    fields: dict[str, list[str]] = field(default_factory=dict)
    directives: list[tuple[str, str]] = field(default_factory=list)
    key: KeyField = NO_KEY
    metre: str = ""
    unit: Fraction = Fraction(1, 8)
    doubts: list[str] = field(default_factory=list)

    def take(self, line: Line) -> None:
        """Note one line."""
        if line.letter == DIRECTIVE:
            name, _, value = line.text.partition(" ")
            self.directives.append((name, value.strip()))
        elif line.letter == MUSIC:
            self.doubts.append(f"line {line.number}: “{line.text.strip()[:40]}” is not a field")
        else:
            self.fields.setdefault(line.letter, []).append(line.text)

    def last(self, letter: str) -> str:
        """Value of a field; the tune's own stands after the file's."""
        return self.fields.get(letter, [""])[-1]

    def texts(self, *letters: str) -> list[str]:
        """Texts of fields, cleaned, empty ones left out."""
        values = (value for letter in letters for value in self.fields.get(letter, ()))
        return [text for text in map(read_text, values) if text]

    def lines(self, *letters: str) -> str:
        """Texts of fields, one a line."""
        values = (resolve(value) for letter in letters for value in self.fields.get(letter, ()))
        return clean_text("\n".join(values), multiline=True, limit=NOTE_LIMIT)


def read_header(
    raw: Sequence[tuple[int, str]], file_header: Sequence[tuple[int, str]] = ()
) -> tuple[Header, list[Line]]:
    """Read a tune's header; return it and the lines of the body. Never raises.

    Args:
        raw: ``(line number, text)`` pairs of the tune, at least one.
        file_header: The same of the file's header, whose fields hold unless the tune's own
            replace them (2.2.2).
    """
    header = Header(raw[0][0])
    for line in tune_lines(file_header):
        # Titles and numbers belong to tunes.
        if line.letter not in {"X", "T", "K", MUSIC}:
            header.take(line)
    lines = list(tune_lines(raw))
    begin = len(lines)
    for place, line in enumerate(lines):
        if line.letter == MUSIC and is_music(line.text):
            begin = place
            break
        header.take(line)
        if line.letter == "K":
            begin = place + 1
            break
    if "K" not in header.fields:
        header.doubts.append(f"line {header.line}: there is no K: line before the notes")
    header.key = read_key(header.last("K"))
    if header.key.doubt:
        header.doubts.append(f"line {header.line}: {header.key.doubt}")
    _read_metre(header)
    _read_unit(header)
    _late_fields(header, lines[begin:])
    return header, lines[begin:]


def read_kind(value: str) -> str:
    """Return an ``R:`` field in lower case, one word for one thing where the words are known.

    >>> read_kind("Double Jig"), read_kind("REEL"), read_kind("Highland  Fling")
    ('jig', 'reel', 'highland fling')
    """
    kind = read_text(value).lower()
    return _KINDS.get(kind, kind)


def _late_fields(header: Header, lines: Sequence[Line]) -> None:
    """Heed what is told of the tune after its key but before any note.

    By 3.1.14 the key comes last; books that name it sooner mean no less by what follows. The
    unit length stays with the body: without a metre in the header it is an eighth (3.1.7).
    """
    told = _LATE if "M" in header.fields else _LATE | {"M"}
    for line in takewhile(lambda line: line.letter in _LATE | {"M", "L"}, lines):
        if line.letter in told:
            header.take(line)
    if "M" in told:
        _read_metre(header)


def _read_metre(header: Header) -> None:
    metre = "".join(header.last("M").split())
    if metre.lower() in {"", "none"}:
        return
    if whole_notes(metre) is None:
        header.doubts.append(f"line {header.line}: M:{read_text(metre)[:20]} is not a metre")
    else:
        header.metre = metre


def _read_unit(header: Header) -> None:
    given = header.last("L")
    unit = unit_length(given) if given else None
    if given and unit is None:
        shown = read_text(given)[:20]
        header.doubts.append(f"line {header.line}: L:{shown} is not a note length")
    header.unit = unit or default_unit(header.metre)
