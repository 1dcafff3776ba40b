"""From the lines of one ABC tune to what an import needs of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tunememory.notation.abc_body import BodyReader
from tunememory.notation.abc_header import Header, read_header, read_kind
from tunememory.notation.abc_lines import DIRECTIVE, Line
from tunememory.notation.abc_text import read_text
from tunememory.notation.facts import PREFIX, read_facts, read_text_value
from tunememory.notation.key_guess import guess_key, guess_signed_key
from tunememory.notation.own_starts import read_starts
from tunememory.notation.parts import find_parts
from tunememory.notation.starts import find_starts
from tunememory.tunes.abc_melody import join_sounds
from tunememory.tunes.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tunememory.tunes.key import Key
    from tunememory.tunes.pitch import Note
    from tunememory.tunes.tune import Start


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
        directives: ``%%`` lines of the header, as ``(name, value)``.
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
    directives: tuple[tuple[str, str], ...] = ()


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
    raw: Sequence[tuple[int, str]],
    file_header: Sequence[tuple[int, str]] = (),
    doubts: Sequence[str] = (),
) -> ReadTune | Refusal:
    """Read the lines of one tune. Never raises.

    Args:
        raw: ``(line number, text)`` pairs, at least one.
        file_header: The same of the file's header.
        doubts: What is already doubted about the tune.
    """
    header, body = read_header(raw, file_header)
    ours = any(name == f"{PREFIX}uuid" for name, _ in header.directives)
    read = _read_ours(header, body) if ours else _read_any(header, body)
    if not read.titles and not read.starts:
        return Refusal(header.line, "neither a name nor notes")
    return replace(
        read,
        abc=_text(raw, file_header),
        doubts=(*doubts, *header.doubts, *read.doubts),
        directives=tuple(header.directives),
    )


def melody_of(
    raw: Sequence[tuple[int, str]], file_header: Sequence[tuple[int, str]] = ()
) -> tuple[Note, ...]:
    """Return the notes of a whole tune as written, repeats once; empty where only starts stand.

    Args:
        raw: As for ``read_lines``.
        file_header: As for ``read_lines``.
    """
    header, body = read_header(raw, file_header)
    if any(name == f"{PREFIX}uuid" for name, _ in header.directives):
        return ()
    bars = _body(header, body).bars
    return join_sounds(sound for bar in bars for sound in bar.sounds)


def _read_any(header: Header, lines: Sequence[Line]) -> ReadTune:
    body = _body(header, lines)
    parts = find_parts(body.bars, body.closing)
    doubts = [f"line {header.line}: {doubt}" for doubt in _told(header)] + list(body.doubts)
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


def _told(header: Header) -> Iterator[str]:
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
    guess = guess_key(parts) if fifths is None else guess_signed_key(parts, fifths)
    if guess is None:
        return None, ""
    if guess.sure:
        return guess.key, f"no key is given; by the notes it is {guess.key.name}"
    return None, f"no key is given; it may be {guess.key.name} or {guess.other.name}"


def _read_ours(header: Header, lines: Sequence[Line]) -> ReadTune:
    metre = read_text(header.last("M"))
    key = header.key.key
    starts, doubts = read_starts(lines, key, "" if metre == "none" else metre)
    doubts += read_facts(header.directives)[1]
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


def _text(raw: Sequence[tuple[int, str]], file_header: Sequence[tuple[int, str]]) -> str:
    """The tune's text with the file's header put in, as 2.2.2 asks of who cuts out a tune."""
    lines = [line for _, line in raw]
    kept = [line for _, line in file_header if line.strip() and not _is_comment(line)]
    place = 1 if lines[0].lstrip().startswith("X:") else 0
    return "\n".join([*lines[:place], *kept, *lines[place:]])


def _is_comment(line: str) -> bool:
    return line.startswith("%") and not line.startswith("%%")
