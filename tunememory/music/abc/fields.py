r"""Text of ABC fields: accents written with a backslash or as entities (ABC 2.1, 8.2)."""

from __future__ import annotations

import html
import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.text import TITLE_LIMIT, clean_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence


_MARKS = {
    "`": "\u0300", "'": "\u0301", "^": "\u0302", "~": "\u0303", '"': "\u0308", "c": "\u0327",
    "v": "\u030c", "u": "\u0306", "H": "\u030b", "=": "\u0304", ";": "\u0328", ".": "\u0307",
    "r": "\u030a",
}  # fmt: skip
_LIGATURES = {
    "aa": "å", "AA": "Å", "ae": "æ", "AE": "Æ", "oe": "œ", "OE": "Œ", "ss": "ß", "DH": "Ð",
    "dh": "ð", "TH": "Þ", "th": "þ", "/O": "Ø", "/o": "ø", "/L": "Ł", "/l": "ł", "/D": "Đ",
    "/d": "đ",
}  # fmt: skip
_ESCAPE = re.compile(
    r"\\u(?P<code>[0-9A-Fa-f]{4})"
    r"|\\(?P<ligature>aa|AA|ae|AE|oe|OE|ss|DH|dh|TH|th|/[OoLlDd])"
    r"|\\(?P<mark>[`'^~\"cvuH=;.r])(?P<letter>[A-Za-z])"
    r"|\\(?P<plain>[%&\\])"
    r"|(?P<entity>&(?:[A-Za-z]{2,8}|\#\d{2,6});)"
)


def read_text(value: str, *, limit: int = TITLE_LIMIT) -> str:
    r"""Return the value of a text field, escapes resolved and cleaned.

    >>> read_text(r"T\'a an L\'a &amp; co")
    'Tá an Lá & co'
    """
    return clean_text(resolve(value), limit=limit)


def resolve(value: str) -> str:
    """Return ``value`` with its escapes resolved, not cleaned."""
    return _ESCAPE.sub(_resolve, value) if "\\" in value or "&" in value else value


def write_text(value: str) -> str:
    r"""Escape what a field would read otherwise: backslash, per cent, ampersand, outer blanks.

    >>> print(write_text(" 50% & more"))
    \u002050\% \& more
    """
    escaped = value.replace("\\", "\\\\").replace("%", "\\%").replace("&", "\\&")
    inner = escaped.strip()
    if not inner:
        return _coded(escaped)
    left, _, right = escaped.partition(inner)
    return _coded(left) + inner + _coded(right)


def _coded(blanks: str) -> str:
    return "".join(f"\\u{ord(blank):04x}" for blank in blanks)


def _resolve(found: re.Match[str]) -> str:
    if found["code"]:
        return chr(int(found["code"], 16))
    if found["ligature"]:
        return _LIGATURES[found["ligature"]]
    if found["mark"]:
        return unicodedata.normalize("NFC", found["letter"] + _MARKS[found["mark"]])
    return found["plain"] or html.unescape(found["entity"])


Raw = tuple[int, str]
"""A line without its end, and before it its 1-based number in the file."""

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


def tune_lines(raw: Sequence[Raw]) -> Iterator[Line]:
    """Yield the lines of one tune, empty and comment lines left out, ``+:`` lines joined.

    Args:
        raw: In order.
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
