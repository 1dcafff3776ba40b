"""Starts in a tune book of ours: each under its ``P:``, read back as they were kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from tunememory.notation.abc_key import read_key, write_key
from tunememory.notation.abc_lines import DIRECTIVE, MUSIC
from tunememory.notation.abc_text import read_text, write_text
from tunememory.notation.facts import PREFIX, directive, read_text_value
from tunememory.tunes.abc_notes import parse_notes, write_notes
from tunememory.tunes.metre import bar_quarters
from tunememory.tunes.tune import Start

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tunememory.notation.abc_lines import Line
    from tunememory.tunes.key import Key

_INLINE = ("[L:", "[M:")


@dataclass(slots=True)
class _Draft:
    part: str
    key: Key | None
    music: list[str] = field(default_factory=list)
    texts: dict[str, str] = field(default_factory=dict)


def write_starts(starts: Sequence[Start], key: Key | None, metre: str) -> Iterator[str]:
    """Yield the body of a tune: for each start its part, key, music and what music cannot say."""
    music = [_music(start, start.key or key, metre) for start in starts]
    if any(text.startswith(_INLINE) for text in music):
        # A unit length or metre set in one line would hold for the lines after it.
        music = [_explicit(text, metre) for text in music]
    current = key
    for start, text in zip(starts, music, strict=True):
        wanted = start.key or key
        yield f"P:{write_text(start.part)}"
        if wanted != current:
            yield f"K:{write_key(wanted)}"
            current = wanted
        read = parse_notes(text, wanted, metre)
        if read.pickup != start.pickup:
            yield directive("pickup", str(start.pickup))
        if start.written != text:
            yield directive("written", start.written)
        if start.doubt:
            yield directive("doubt", start.doubt)
        if text:
            yield text


def read_starts(
    lines: Iterable[Line], key: Key | None, metre: str
) -> tuple[list[Start], list[str]]:
    """Read the body of a tune of ours; a doubt for each start that was spoilt since.

    Args:
        lines: Lines after the header.
        key: Key of the tune.
        metre: Metre of the tune.
    """
    drafts: list[_Draft] = []
    current = key
    for line in lines:
        if line.letter == "P":
            drafts.append(_Draft(read_text(line.text), current))
        elif line.letter == "K":
            current = read_key(line.text).key
            if drafts:
                drafts[-1].key = current
        elif drafts and line.letter == MUSIC:
            drafts[-1].music.append(line.text.strip())
        elif drafts and line.letter == DIRECTIVE:
            name, _, value = line.text.partition(" ")
            text = read_text_value(value)
            if name.startswith(PREFIX) and text is not None:
                drafts[-1].texts[name.removeprefix(PREFIX)] = text
    doubts: list[str] = []
    return [_start(draft, key, metre, doubts) for draft in drafts], doubts


def _start(draft: _Draft, key: Key | None, metre: str, doubts: list[str]) -> Start:
    text = " ".join(draft.music)
    read = parse_notes(text, draft.key, metre)
    if read.problem:
        doubts.append(f"{draft.part} start: {read.problem}")
    pickup = read.pickup
    try:
        pickup = Fraction(draft.texts.get("pickup", str(pickup)))
    except (ValueError, ZeroDivisionError):
        doubts.append(f"{draft.part} start: its pickup is not a length")
    return Start(
        part=draft.part,
        notes=read.notes,
        pickup=pickup,
        written=draft.texts.get("written", text),
        key=draft.key if draft.key != key else None,
        doubt=draft.texts.get("doubt", ""),
    )


def _music(start: Start, key: Key | None, metre: str) -> str:
    """The text as kept where it is music code of these notes, else written anew."""
    text = start.written
    if "\n" not in text and "%" not in text and text == text.strip():
        read = parse_notes(text, key, metre)
        if (read.notes, read.pickup, read.problem) == (start.notes, start.pickup, ""):
            return text
    own = start.metre_in(metre)
    if own == metre or bar_quarters(own) is None:
        return write_notes(start.notes, pickup=start.pickup, metre=metre, key=key)
    text = write_notes(start.notes, pickup=start.pickup, metre=own, key=key)
    return f"[M:{own}]{text}" if text else text


def _explicit(text: str, metre: str) -> str:
    if not text:
        return text
    unit = "" if "[L:" in text else "[L:1/8]"
    bars = "" if "[M:" in text else f"[M:{metre or 'none'}]"
    return f"{bars}{unit}{text}"
