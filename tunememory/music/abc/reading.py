"""From the lines of one ABC tune to what an import needs of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import takewhile
from typing import TYPE_CHECKING

from tunememory.music.abc.body import BodyReader, is_music
from tunememory.music.abc.fields import DIRECTIVE, MUSIC, Line, Raw, read_text, resolve, tune_lines
from tunememory.music.abc.key import NO_KEY, KeyField, guess_key, read_key
from tunememory.music.abc.notes import join_sounds
from tunememory.music.abc.parts import find_parts, find_starts
from tunememory.music.abc.writing import PREFIX, Facts, read_facts, read_starts, read_text_value
from tunememory.music.metre import default_unit, unit_length, whole_notes
from tunememory.text import NOTE_LIMIT, clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.music.key import Key
    from tunememory.music.pitch import Note
    from tunememory.music.tune import Start


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

    @property
    def ours(self) -> bool:
        """Whether it is a tune of a book that this program wrote."""
        return any(name == f"{PREFIX}uuid" for name, _ in self.directives)

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


def read_header(raw: Sequence[Raw], file_header: Sequence[Raw] = ()) -> tuple[Header, list[Line]]:
    """Read a tune's header; return it and the lines of the body. Never raises.

    Args:
        raw: Lines of the tune, at least one.
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


@dataclass(frozen=True, slots=True)
class ReadTune:
    """One tune of a book.

    Attributes:
        reference: Value of ``X:``.
        line: Line of the file it begins on.
        titles: Main title first; empty when the file gives none.
        kind: As in ``Tune.kind``.
        key: ``None`` when the file gives none and the notes do not say clearly.
        metre: As in ``Tune.metre``.
        starts: The start of each part.
        source: ``S:`` and ``B:`` lines.
        note: ``N:`` and ``H:`` lines.
        abc: The tune's text, fields of the file's header put in after ``X:`` (2.2.2).
        doubts: What is not to be trusted and why; each begins with its line.
        facts: What only a tune book of ours says.
    """

    reference: str
    line: int
    titles: tuple[str, ...]
    kind: str
    key: Key | None
    metre: str
    starts: tuple[Start, ...]
    source: str
    note: str
    abc: str = ""
    doubts: tuple[str, ...] = ()
    facts: Facts = field(default_factory=Facts)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Something in a file that is no tune.

    Attributes:
        line: 1-based; 0 for the whole file.
        why: In one line.
    """

    line: int
    why: str


def read_lines(
    raw: Sequence[Raw],
    file_header: Sequence[Raw] = (),
    doubts: Sequence[str] = (),
) -> ReadTune | Refusal:
    """Read the lines of one tune. Never raises.

    Args:
        raw: ``(line number, text)`` pairs, at least one.
        file_header: The same of the file's header.
        doubts: What is already doubted about the tune.
    """
    header, body = read_header(raw, file_header)
    facts, unreadable = read_facts(header.directives)
    read = _read_ours(header, body, unreadable) if header.ours else _read_any(header, body)
    if not read.titles and not read.starts:
        return Refusal(header.line, "neither a name nor notes")
    return replace(
        read,
        abc=_text(raw, file_header),
        doubts=(*doubts, *header.doubts, *read.doubts),
        facts=facts,
    )


def melody_of(raw: Sequence[Raw], file_header: Sequence[Raw] = ()) -> tuple[Note, ...]:
    """Return the notes of a whole tune as written, repeats once; empty where only starts stand.

    Args:
        raw: As for ``read_lines``.
        file_header: As for ``read_lines``.
    """
    header, body = read_header(raw, file_header)
    if header.ours:
        return ()
    bars = _body(header, body).bars
    return join_sounds(sound for bar in bars for sound in bar.sounds)


def _read_any(header: Header, lines: Sequence[Line]) -> ReadTune:
    body = _body(header, lines)
    parts = find_parts(body.bars, body.closing)
    doubts = [f"line {header.line}: {doubt}" for doubt in _header_doubts(header)] + list(
        body.doubts
    )
    titles = tuple(dict.fromkeys(header.texts("T")))
    if not titles:
        doubts.append(f"line {header.line}: there is no T: line, so it has no name")
    key = header.key.key
    if key is None:
        melodies = [join_sounds(s for bar in part.bars for s in bar.sounds) for part in parts]
        key, doubt = _guessed(melodies, header.key.fifths)
        doubts += [f"line {header.line}: {doubt}"] if doubt else []
    starts = find_starts(parts, key, header.metre, header.unit)
    doubts += [
        f"line {part.bars[0].line}: {start.part} start: {start.doubt}"
        for part, start in zip(parts, starts, strict=True)
        if start.doubt
    ]
    if not starts:
        doubts.append(f"line {header.line}: there are no notes")
    return ReadTune(
        reference=read_text(header.last("X")),
        line=header.line,
        titles=titles,
        kind=read_kind(header.last("R")),
        key=key,
        metre=header.metre,
        starts=starts,
        source="; ".join(dict.fromkeys(header.texts("S", "B"))),
        note=header.lines("N", "H"),
        doubts=tuple(doubts),
    )


def _header_doubts(header: Header) -> Iterator[str]:
    """Doubts of the one who made the text out of another kind of file."""
    for name, value in header.directives:
        text = read_text_value(value) if name == f"{PREFIX}doubt" else None
        if text:
            yield clean_text(text)


def _body(header: Header, lines: Sequence[Line]) -> BodyReader:
    voice = (header.fields.get("V", [""])[0].split() or [""])[0]
    body = BodyReader(header.key, header.metre, header.unit, voice)
    for name, value in header.directives:
        body.take(Line(header.line, DIRECTIVE, f"{name} {value}"))
    for value in header.fields.get("I", ()):
        body.take(Line(header.line, "I", value))
    for line in lines:
        body.take(line)
    body.finish()
    return body


def _guessed(parts: Sequence[Sequence[Note]], fifths: int | None) -> tuple[Key | None, str]:
    guess = guess_key(parts, fifths)
    if guess is None:
        return None, ""
    if guess.sure:
        return guess.key, f"no key is given; by the notes it is {guess.key.name}"
    return None, f"no key is given; it may be {guess.key.name} or {guess.other.name}"


def _read_ours(header: Header, lines: Sequence[Line], unreadable: Sequence[str]) -> ReadTune:
    metre = read_text(header.last("M"))
    key = header.key.key
    starts, doubts = read_starts(lines, key, "" if metre == "none" else metre)
    doubts += unreadable
    return ReadTune(
        reference=read_text(header.last("X")),
        line=header.line,
        titles=tuple(header.texts("T")),
        kind=read_text(header.last("R")),
        key=key,
        metre="" if metre == "none" else metre,
        starts=tuple(starts),
        source=read_text(header.last("S")),
        note=header.lines("N"),
        doubts=tuple(f"line {header.line}: {doubt}" for doubt in doubts),
    )


def _text(raw: Sequence[Raw], file_header: Sequence[Raw]) -> str:
    """The tune's text with the file's header put in, as 2.2.2 asks of who cuts out a tune."""
    lines = [line for _, line in raw]
    kept = [line for _, line in file_header if line.strip() and not _is_comment(line)]
    place = 1 if lines[0].lstrip().startswith("X:") else 0
    return "\n".join([*lines[:place], *kept, *lines[place:]])


def _is_comment(line: str) -> bool:
    return line.startswith("%") and not line.startswith("%%")
