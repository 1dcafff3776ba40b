"""The repertoire as an ABC 2.1 tune book that reads back as the same tunes."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from tunememory.music.abc.fields import DIRECTIVE, MUSIC, read_text, write_text
from tunememory.music.abc.key import read_key, write_key
from tunememory.music.abc.notes import parse_notes, write_notes
from tunememory.music.metre import bar_quarters
from tunememory.music.pitch import MIDI_NUMBERS
from tunememory.music.strings import MOST_STRINGS, Tuning
from tunememory.music.tune import Declared, Start, Status
from tunememory.text import clean_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from tunememory.music.abc.fields import Line
    from tunememory.music.key import Key
    from tunememory.music.tune import Tune


PREFIX = "tunememory-"
"""Begins the name of each directive."""

_UUID_LIMIT = 64


@dataclass(frozen=True, slots=True)
class Facts:
    """Facts of a tune that a tune book of ours carries; a foreign book says none of them.

    Attributes:
        uuid: Identity of the tune, or empty.
        tuning: ``None`` is the player's usual tuning.
        status: ``None`` when not said.
        declared: ``None`` when not said.
        favourite: Weighs more in the plan.
        added: Practice day it came in; ``None`` when not said.
    """

    uuid: str = ""
    tuning: Tuning | None = None
    status: Status | None = None
    declared: Declared | None = None
    favourite: bool = False
    added: date | None = None


def _write_facts(tune: Tune) -> Iterator[str]:
    """Yield the directive lines of a tune."""
    yield directive("uuid", tune.uuid)
    yield directive("status", tune.status.value)
    yield directive("declared", tune.declared.value)
    yield directive("added", tune.added.isoformat())
    if tune.tuning is not None:
        yield directive("tuning", list(tune.tuning.strings))
    if tune.favourite:
        yield directive("favourite", value=True)


def read_facts(directives: Iterable[tuple[str, str]]) -> tuple[Facts, tuple[str, ...]]:
    """Read the facts among a tune's directives; a doubt for each that cannot be read.

    Args:
        directives: ``(name, value)`` pairs, as in ``%%name value``.
    """
    facts = Facts()
    doubts: list[str] = []
    for name, value in directives:
        short = name.removeprefix(PREFIX)
        if short == name or short not in _READERS:
            continue
        try:
            facts = replace(facts, **{short: _READERS[short](json.loads(value))})
        except (ValueError, TypeError, RecursionError):
            doubts.append(f"%%{clean_text(name, limit=40)} says nothing we know")
    return facts, tuple(doubts)


def directive(name: str, value: object) -> str:
    """Return one directive line."""
    return f"%%{PREFIX}{name} {json.dumps(value, ensure_ascii=False)}"


def read_text_value(value: str) -> str | None:
    """Return the text of a directive's value, or ``None`` when it is none."""
    try:
        text = json.loads(value)
    except (ValueError, RecursionError):
        return None
    return text if isinstance(text, str) else None


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError
    return value


def _strings(value: object) -> Tuning:
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_STRINGS:
        raise TypeError
    if not all(type(number) is int and number in MIDI_NUMBERS for number in value):
        raise TypeError
    return Tuning(tuple(value))


_READERS: dict[str, Callable[[object], Any]] = {
    "uuid": lambda value: clean_text(_text(value), limit=_UUID_LIMIT),
    "tuning": _strings,
    "status": lambda value: Status(_text(value)),
    "declared": lambda value: Declared(_text(value)),
    "added": lambda value: date.fromisoformat(_text(value)),
    "favourite": lambda value: value is True,
}
"""How each field of ``Facts`` is read; ``ValueError`` or ``TypeError`` where it cannot be."""

_INLINE = ("[L:", "[M:")


@dataclass(slots=True)
class _Draft:
    part: str
    key: Key | None
    music: list[str] = field(default_factory=list)
    texts: dict[str, str] = field(default_factory=dict)


def _write_starts(starts: Sequence[Start], key: Key | None, metre: str) -> Iterator[str]:
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


_VERSION = "%abc-2.1"


def write_book(tunes: Iterable[Tune]) -> str:
    """Return an ABC 2.1 tune book, numbered from 1, that ``read_book`` reads back the same."""
    pieces = [_VERSION]
    pieces += ["\n".join(_lines(tune, number)) for number, tune in enumerate(tunes, start=1)]
    return "\n\n".join(pieces) + "\n"


def _lines(tune: Tune, number: int) -> Iterator[str]:
    yield f"X:{number}"
    for title in tune.titles or ("",):
        yield f"T:{write_text(title)}"
    yield from _write_facts(tune)
    if tune.kind:
        yield f"R:{write_text(tune.kind)}"
    if tune.source:
        yield f"S:{write_text(tune.source)}"
    if tune.note:
        for line in tune.note.split("\n"):
            yield f"N:{write_text(line)}"
    yield f"M:{write_text(tune.metre) or 'none'}"
    yield "L:1/8"
    yield f"K:{write_key(tune.key)}"
    yield from _write_starts(tune.starts, tune.key, tune.metre)
