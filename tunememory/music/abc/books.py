"""Tune books: any number of ABC tunes in one file (ABC 2.1, 2.2), whatever state it is in."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from tunememory.music.abc.body import is_music
from tunememory.music.abc.reading import ReadTune, Refusal, melody_of, read_lines

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.music.abc.fields import Raw
    from tunememory.music.pitch import Note


_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
# The standard's own way to say it (ABC 2.1, 11.6), in an instruction field or a directive.
_DECLARED = re.compile(rb"(?m)^(?:%%|I:)abc-charset[ \t]+([\w.:-]{1,40})")
_CONTROLS = frozenset(range(32)) - {9, 10, 11, 12, 13, 26, 27}
_MOST_CONTROLS = 0.02


@dataclass(frozen=True, slots=True)
class Decoded:
    """Text of a file.

    Attributes:
        text: Empty when the file is not text.
        note: What the player should know of it; empty for UTF-8.
        refused: Why it is not a text; empty when it is.
    """

    text: str
    note: str = ""
    refused: str = ""


def decode(data: bytes) -> Decoded:
    """Return the text of a file. Never raises.

    UTF-8 and UTF-16 by their marks, else a declared character set, else UTF-8 where it fits,
    else Windows-1252 (which holds Latin-1), the usual writing of older tune books.
    """
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            text = data.decode(codec, errors="replace")
            note = _lost(text) if name == "UTF-8" else f"the file was read as {name}{_lost(text)}"
            return Decoded(text, note.removeprefix(", "))
    if _is_binary(data):
        return Decoded("", refused="this is not a text file")
    declared = _declared(data)
    if declared:
        text = data.decode(declared, errors="replace")
        return Decoded(text, f"the file says it is {declared}{_lost(text)}")
    try:
        return Decoded(data.decode("utf-8"))
    except UnicodeDecodeError:
        pass
    try:
        text, name = data.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError:
        text, name = data.decode("latin-1"), "Latin-1"
    return Decoded(text, f"the file is not UTF-8; it was read as {name}: check accents")


def _declared(data: bytes) -> str:
    """The character set the file names, where it is one and not UTF-8 anyway."""
    found = _DECLARED.search(data[:4096])
    if found is None:
        return ""
    try:
        name = codecs.lookup(found[1].decode("ascii")).name
        b"abc".decode(name).encode("ascii")
    except (LookupError, ValueError, TypeError, AttributeError):
        return ""
    return "" if name in {"utf-8", "ascii"} else name


def _is_binary(data: bytes) -> bool:
    head = data[:65536]
    return b"\x00" in head or sum(byte in _CONTROLS for byte in head) > _MOST_CONTROLS * len(head)


def _lost(text: str) -> str:
    return ", with letters that could not be read" if "\ufffd" in text else ""


_LINE_END = re.compile(r"\r\n|\n|\r")
_NUMBER = re.compile(r"\s*X:")
_FIELD = re.compile(r"\s*([A-Za-z]):")
_PASSED_OVER_TOLD = 5


class Book(NamedTuple):
    """A tune book, read one tune at a time so that progress can be shown.

    Attributes:
        total: How many tunes and refusals will come.
        tunes: Those, in the order of the file.
        notes: What the player should know of the file as a whole.
    """

    total: int
    tunes: Iterator[ReadTune | Refusal]
    notes: tuple[str, ...]


@dataclass(slots=True)
class _Chunk:
    """Lines of one tune, or of something refused."""

    lines: list[Raw]
    refused: str = ""
    doubts: list[str] = field(default_factory=list)

    def has(self, letter: str) -> bool:
        return any(_letter(text) == letter for _, text in self.lines)


@dataclass(slots=True)
class _Split:
    header: list[Raw] = field(default_factory=list)
    chunks: list[_Chunk] = field(default_factory=list)
    passed_over: list[int] = field(default_factory=list)


def read_book(data: bytes) -> Book:
    """Read a tune book. Never raises, and no tune is lost without a refusal."""
    decoded = decode(data)
    if decoded.refused:
        return Book(1, iter([Refusal(0, decoded.refused)]), ())
    split = _split(decoded.text)
    notes = [decoded.note] if decoded.note else []
    if split.passed_over:
        shown = ", ".join(map(str, split.passed_over[:_PASSED_OVER_TOLD]))
        more = " …" if len(split.passed_over) > _PASSED_OVER_TOLD else ""
        notes.append(f"text between tunes was passed over (from line {shown}{more})")
    if not split.chunks:
        why = (
            "no tune in it: a tune begins with an X: line"
            if decoded.text.strip()
            else "it is empty"
        )
        return Book(1, iter([Refusal(0, why)]), tuple(notes))
    tunes = (_read(chunk, split.header) for chunk in split.chunks)
    return Book(len(split.chunks), tunes, tuple(notes))


def read_one(text: str) -> ReadTune | Refusal:
    """Read the text of one tune, as kept in ``ReadTune.abc``."""
    split = _split(text)
    if not split.chunks:
        return Refusal(0, "no tune in it")
    return _read(split.chunks[0], split.header)


def read_melody(text: str) -> tuple[Note, ...]:
    """Read the whole tune from a text as kept in ``ReadTune.abc``; empty where there is none."""
    split = _split(text)
    if not split.chunks or split.chunks[0].refused:
        return ()
    return melody_of(split.chunks[0].lines, split.header)


def _read(chunk: _Chunk, header: Sequence[Raw]) -> ReadTune | Refusal:
    if chunk.refused:
        return Refusal(chunk.lines[0][0], chunk.refused)
    return read_lines(chunk.lines, header, chunk.doubts)


def _split(text: str) -> _Split:
    """Cut a book at ``X:`` and at empty lines (2.2.1), mending what is mended safely."""
    split = _Split()
    tune: _Chunk | None = None
    for block in _blocks(text):
        number, first = block[0]
        letters = {_letter(line) for _, line in block} - {""}
        musical = any("|" in line and is_music(line) for _, line in block if not _letter(line))
        if _NUMBER.match(first):
            tune = _Chunk(block)
            split.chunks.append(tune)
        elif tune is not None and _goes_on(tune, letters, musical=musical):
            tune.lines.extend(block)
            tune.doubts.append(f"line {number}: an empty line in the middle of the tune")
        elif "K" in letters and ("T" in letters or musical):
            tune = _Chunk(block, doubts=[f"line {number}: there is no X: line"])
            split.chunks.append(tune)
        elif not split.chunks and _is_header(block):
            split.header.extend(block)
        elif musical:
            split.chunks.append(_Chunk(block, "notes without an X:, T: or K: line before them"))
        elif "T" in letters and any(map(_letter, (line for _, line in block))):
            split.chunks.append(_Chunk(block, "a T: line without K: and notes"))
        elif any(line.strip() and not line.startswith("%") for _, line in block):
            split.passed_over.append(number)
    return split


def _goes_on(tune: _Chunk, letters: set[str], *, musical: bool) -> bool:
    """Whether a block after an empty line is still the tune before it."""
    if "T" in letters and "K" in letters:
        return False
    if not tune.has("K"):
        return musical or "K" in letters
    return musical and "T" not in letters


def _is_header(block: Sequence[Raw]) -> bool:
    return all(
        text.startswith("%") or _letter(text) not in {"", "K", "T", "X"} for _, text in block
    )


def _letter(text: str) -> str:
    found = _FIELD.match(text)
    return found[1] if found else ""


def _blocks(text: str) -> Iterator[list[Raw]]:
    """Yield runs of lines between empty lines; an ``X:`` line always begins a new one."""
    block: list[Raw] = []
    for number, line in enumerate(_LINE_END.split(text), 1):
        if not line.strip():
            if block:
                yield block
            block = []
            continue
        if block and _NUMBER.match(line):
            # Comments above an X: line belong to its tune, but say nothing of it.
            yield block
            block = []
        block.append((number, line))
    if block:
        yield block
