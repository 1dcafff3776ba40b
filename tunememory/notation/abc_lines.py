"""Lines of an ABC file: comments off, fields told from music (ABC 2.1, 2.2)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

DIRECTIVE = "%"
"""``Line.letter`` of a stylesheet directive (``%%…``, section 11)."""

MUSIC = ""
"""``Line.letter`` of anything that is not a field."""

_FIELD = re.compile(r"\s*([A-Za-z+]):(.*)", re.DOTALL)
# "A:|" is a note before a repeat; no field value begins with a bar line.
_BODY_FIELD = re.compile(r"([A-Za-z+]):(?![|:])(.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Line:
    """One line without its comment.

    Attributes:
        number: 1-based line of the file.
        letter: Field letter, ``DIRECTIVE`` or ``MUSIC``.
        text: The field's value, or the whole line.
    """

    number: int
    letter: str
    text: str


def tune_lines(raw: Sequence[tuple[int, str]]) -> Iterator[Line]:
    """Yield the lines of one tune, empty and comment lines left out, ``+:`` lines joined.

    Args:
        raw: ``(line number, text)`` pairs without line ends.
    """
    waiting: Line | None = None
    body = False
    hidden = False
    last_end = max((n for n, text in raw if text.startswith("%%end")), default=0)
    for number, text in raw:
        if text.startswith("%%"):
            directive = text[2:].strip()
            # Text to be printed between tunes is neither field nor music (11.4.3).
            if directive.startswith(("begin", "end")):
                hidden = directive.startswith("begin") and number < last_end
            line = Line(number, DIRECTIVE, directive)
        elif hidden:
            continue
        else:
            plain = _without_comment(text)
            if not plain.strip():
                continue
            found = (_BODY_FIELD if body else _FIELD).match(plain)
            line = Line(number, found[1], found[2].strip()) if found else Line(number, MUSIC, plain)
        if line.letter == "+":
            if waiting is not None and waiting.letter not in {MUSIC, DIRECTIVE}:
                waiting = Line(waiting.number, waiting.letter, f"{waiting.text} {line.text}")
            continue
        if waiting is not None:
            yield waiting
        waiting = line
        body = body or line.letter == "K"
    if waiting is not None:
        yield waiting


def _without_comment(text: str) -> str:
    place = text.find("%")
    while place > 0 and text[place - 1] == "\\":
        place = text.find("%", place + 1)
    return text if place < 0 else text[:place]
