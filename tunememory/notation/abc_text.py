r"""Text of ABC fields: accents written with a backslash or as entities (ABC 2.1, 8.2)."""

from __future__ import annotations

import html
import re
import unicodedata

from tunememory.tunes.text import TITLE_LIMIT, clean_text

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
