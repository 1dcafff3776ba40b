"""Content lines of iCalendar text (RFC 5545, section 3.1): folding, escaping, parameters."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_OCTETS = 75
"""Length of a line before it is folded, without its end."""

_NAME = re.compile(r"[A-Za-z0-9-]+")
_PARAMETER = re.compile(r';([A-Za-z0-9-]+)=((?:"[^"]*"|[^";:,]*)(?:,(?:"[^"]*"|[^";:,]*))*)')
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class ContentLine:
    """One property.

    Attributes:
        number: Line of the text it begins on, from 1.
        name: In capitals.
        value: As written, still escaped.
        parameters: By name in capitals; quotes taken off.
    """

    number: int
    name: str
    value: str
    parameters: dict[str, str] = field(default_factory=dict)


def fold(line: str) -> str:
    """Return a content line folded at 75 octets, with its line end; characters stay whole."""
    pieces: list[str] = []
    octets = 0
    piece = ""
    for character in line:
        size = len(character.encode("utf-8"))
        if octets + size > MOST_OCTETS:
            pieces.append(piece)
            # The blank that begins a continued line counts.
            piece, octets = "", 1
        piece += character
        octets += size
    pieces.append(piece)
    return "\r\n ".join(pieces) + "\r\n"


def escaped(text: str) -> str:
    """Return text as the value of a ``TEXT`` property (section 3.3.11)."""
    for sign in ("\\", ";", ","):
        text = text.replace(sign, "\\" + sign)
    return text.replace("\n", "\\n")


def unescaped(value: str) -> str:
    """Return the text of a ``TEXT`` value."""
    return _ESCAPE.sub(lambda found: "\n" if found[1] in "nN" else found[1], value)


def split_list(value: str) -> list[str]:
    """Return the texts of a value that is a list parted by commas."""
    return [unescaped(piece) for piece in re.findall(r"(?:[^,\\]|\\.)+", value, re.DOTALL)]


def content_lines(text: str) -> Iterator[ContentLine]:
    """Yield the properties of iCalendar text; any line end is taken, empty lines are passed over.

    Raises:
        ValueError: A line that is no property, with its number.
    """
    number = 0
    whole = ""
    for count, line in enumerate(re.split(r"\r\n|\n|\r", text), 1):
        if line[:1] in {" ", "\t"} and whole:
            whole += line[1:]
            continue
        if whole.strip():
            yield _property(whole, number)
        number, whole = count, line
    if whole.strip():
        yield _property(whole, number)


def _property(line: str, number: int) -> ContentLine:
    name = _NAME.match(line)
    if name is None:
        raise ValueError(f"line {number} is no line of a calendar")
    place = name.end()
    parameters: dict[str, str] = {}
    while found := _PARAMETER.match(line, place):
        parameters[found[1].upper()] = found[2].replace('"', "")
        place = found.end()
    if line[place : place + 1] != ":":
        raise ValueError(f"line {number} is no line of a calendar")
    return ContentLine(number, name[0].upper(), line[place + 1 :], parameters)
