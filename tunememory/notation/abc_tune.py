"""One tune of an ABC file: its header, and its body as bars (ABC 2.1, chapters 3 and 4)."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.notation.abc_body import Bar, BodyReader, is_music
from tunememory.notation.abc_key import NO_KEY, KeyField, read_key
from tunememory.notation.abc_lines import DIRECTIVE, MUSIC, Line, tune_lines
from tunememory.notation.abc_text import read_text
from tunememory.tunes.metre import default_unit, unit_length, whole_notes
from tunememory.tunes.text import NOTE_LIMIT

if TYPE_CHECKING:
    from collections.abc import Sequence

FREE_METRES = frozenset({"", "none"})
"""``M:`` values that say there is no metre."""

_KINDS = {
    "double jig": "jig", "slipjig": "slip jig", "hop jig": "slip jig", "reels": "reel",
    "jigs": "jig", "hornpipes": "hornpipe", "polkas": "polka", "waltzes": "waltz",
    "marches": "march", "slides": "slide", "airs": "air", "slow air": "air", "valse": "waltz",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class AbcTune:
    """What an ABC tune says, before parts are looked for.

    Attributes:
        reference: Value of ``X:``.
        titles: All ``T:`` lines of the header, the file's first.
        kind: ``R:`` in lower case, folded to one word for one thing; empty when not given.
        key: The ``K:`` field that ends the header.
        metre: Value of ``M:``, empty for free metre.
        unit: Unit note length, of a whole note.
        source: ``S:`` and ``B:`` lines.
        note: ``N:`` and ``H:`` lines, line by line.
        directives: ``%%`` lines of the header, as ``(name, rest)``.
        bars: The melody.
        closing: Bar lines after the last sound.
        doubts: What could not be read.
    """

    reference: str = ""
    titles: tuple[str, ...] = ()
    kind: str = ""
    key: KeyField = NO_KEY
    metre: str = ""
    unit: Fraction = Fraction(1, 8)
    source: str = ""
    note: str = ""
    directives: tuple[tuple[str, str], ...] = ()
    bars: tuple[Bar, ...] = ()
    closing: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(slots=True)
class _Header:
    fields: dict[str, list[str]] = field(default_factory=dict)
    directives: list[tuple[str, str]] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

    def take(self, line: Line) -> None:
        if line.letter == DIRECTIVE:
            name, _, rest = line.text.partition(" ")
            self.directives.append((name, rest.strip()))
        elif line.letter == MUSIC:
            self.doubts.append(f"line {line.number}: “{line.text.strip()[:40]}” is not a field")
        else:
            self.fields.setdefault(line.letter, []).append(line.text)

    def last(self, letter: str) -> str:
        return self.fields.get(letter, [""])[-1]

    def texts(self, *letters: str) -> list[str]:
        values = (value for letter in letters for value in self.fields.get(letter, ()))
        return [text for text in map(read_text, values) if text]


def read_tune(
    raw: Sequence[tuple[int, str]], file_header: Sequence[tuple[int, str]] = ()
) -> AbcTune:
    """Read one tune. Never raises: what cannot be read becomes a doubt with its line.

    Args:
        raw: ``(line number, text)`` pairs of the tune.
        file_header: The same of the file's header, whose fields hold unless the tune's own
            replace them (2.2.2).
    """
    header = _Header()
    for line in tune_lines(file_header):
        # Titles and numbers belong to tunes; anything else in a file header is not for us.
        if line.letter not in {"X", "T", "K", MUSIC}:
            header.take(line)
    lines = list(tune_lines(raw))
    begin = len(lines)
    for place, line in enumerate(lines):
        if line.letter == MUSIC and is_music(line.text):
            begin = place
            header.doubts.append(f"line {line.number}: music before any K: field")
            break
        header.take(line)
        if line.letter == "K":
            begin = place + 1
            break
    else:
        header.doubts.append("there is no K: field")
    key = read_key(header.last("K"))
    if key.doubt:
        header.doubts.append(key.doubt)
    metre = _metre(header)
    unit = _unit(header, metre)
    body = BodyReader(key, metre, unit, voice=(header.fields.get("V", [""])[0].split() or [""])[0])
    for directive in header.directives:
        body.take(Line(0, DIRECTIVE, " ".join(directive)))
    for line in lines[begin:]:
        body.take(line)
    body.finish()
    return AbcTune(
        reference=read_text(header.last("X")),
        titles=tuple(dict.fromkeys(header.texts("T"))),
        kind=read_kind(header.last("R")),
        key=key,
        metre=metre,
        unit=unit,
        source="; ".join(dict.fromkeys(header.texts("S", "B"))),
        note="\n".join(header.texts("N", "H"))[:NOTE_LIMIT],
        directives=tuple(header.directives),
        bars=tuple(body.bars),
        closing=tuple(body.closing),
        doubts=(*header.doubts, *body.doubts),
    )


def read_kind(value: str) -> str:
    """Return an ``R:`` field in lower case, one word for one thing where the words are known.

    >>> read_kind("Double Jig"), read_kind("REEL"), read_kind("Highland  Fling")
    ('jig', 'reel', 'highland fling')
    """
    kind = read_text(value).lower()
    return _KINDS.get(kind, kind)


def _metre(header: _Header) -> str:
    metre = "".join(header.last("M").split())[:20]
    if metre.lower() in FREE_METRES:
        return ""
    if whole_notes(metre) is None:
        header.doubts.append(f"M:{metre} is not a metre")
        return ""
    return metre


def _unit(header: _Header, metre: str) -> Fraction:
    given = header.last("L")
    unit = unit_length(given) if given else None
    if given and unit is None:
        header.doubts.append(f"L:{given[:20]} is not a note length")
    return unit or default_unit(metre)
