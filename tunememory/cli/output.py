"""What a command prints: JSON for other programs, lines for a reader."""

from __future__ import annotations

import codecs
import json
import sys
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from shutil import get_terminal_size
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from tunememory.music.forms import aligned, barred
from tunememory.music.likeness import parting

if TYPE_CHECKING:
    from tunememory.library.starts import StartView
    from tunememory.library.twins import Twin


def print_json(value: Any, places: int | None = 4) -> None:
    """Print anything as JSON; letters the output cannot carry are escaped (RFC 8259, 7).

    Args:
        value: Views, dictionaries, sequences, texts and numbers, one in the other.
        places: Decimal places of its fractions; ``None`` leaves them whole.
    """
    everything = codecs.lookup(sys.stdout.encoding or "ascii").name == "utf-8"
    print(json.dumps(_plain(value, places), ensure_ascii=not everything, indent=2))


def _plain(value: Any, places: int | None) -> Any:
    """Return a value as dictionaries, lists, texts and numbers."""
    if is_dataclass(value) and not isinstance(value, type):
        value = {field.name: getattr(value, field.name) for field in fields(value)}
    match value:
        case dict():
            return {name: _plain(one, places) for name, one in value.items()}
        case list() | tuple():
            return [_plain(one, places) for one in value]
        case Enum():
            return value.value
        case date():
            return value.isoformat()
        case float() if places is not None:
            return round(value, places)
    return value


_LEAD = 5
"""Columns before the notes of a start, its part among them."""

_PLAIN_BAR = (" ", "| ")
"""What fills a row up and its bar line, in signs that any terminal or file can take."""


def one_line(*facts: str) -> str:
    """The facts that are known, two spaces apart."""
    return "  ".join(fact for fact in facts if fact)


def starts_line(start: StartView) -> str:
    """A start on one line: part, letters with bar lines, fingers."""
    if not start.letters:
        return f"{start.part}  not written down yet"
    letters, fingers = (barred(signs, start.bars) for signs in (start.letters, start.fingers))
    return "   ".join(filter(None, (f"{start.part}  {letters}", fingers, *_remarks(start))))


def start_lines(start: StartView) -> list[str]:
    """A start as lines that fit the terminal: fingers under their letters, remarks below."""
    if not start.letters:
        return ["  " + starts_line(start)]
    width = max(20, get_terminal_size().columns - _LEAD)
    signs = {"letters": start.letters, "fingers": start.fingers}
    rows = aligned(signs, start.bars, width, dict.fromkeys(signs, _PLAIN_BAR))
    lines = [line for _, line in rows]
    lines += [line for remark in _remarks(start) for line in wrap(remark, width)]
    return [
        f"{'' if number else f'  {start.part}':<{_LEAD}}{line}" for number, line in enumerate(lines)
    ]


def _remarks(start: StartView) -> list[str]:
    """What a start has of its own: its key, what is beyond the instrument, its doubt."""
    key = f"this part is in {start.start.key.name}" if start.start.key else ""
    doubt = f"? {start.doubt}" if start.doubt else ""
    return [remark for remark in (key, start.beyond, doubt) if remark]


def twin_line(twin: Twin) -> str:
    """What to say of a tune that begins alike; the same notes all through may be one tune."""
    if twin.parts_at == 0:
        return f"begins just like {twin.title}: perhaps the same tune"
    return f"don't mix with {twin.title}: {parting(twin.parts_at)}"
