"""Bytes of a text file to text, whatever it was written with."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

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
        encoding: What it was taken for.
        note: What the player should know of it; empty for UTF-8.
        refused: Why it is not a text; empty when it is.
    """

    text: str
    encoding: str
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
            return Decoded(text, name, note.removeprefix(", "))
    if _is_binary(data):
        return Decoded("", "binary", refused="this is not a text file")
    declared = _declared(data)
    if declared:
        text = data.decode(declared, errors="replace")
        return Decoded(text, declared, f"the file says it is {declared}{_lost(text)}")
    try:
        return Decoded(data.decode("utf-8"), "UTF-8")
    except UnicodeDecodeError:
        pass
    try:
        text, name = data.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError:
        text, name = data.decode("latin-1"), "Latin-1"
    return Decoded(text, name, f"the file is not UTF-8; it was read as {name}: check accents")


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
