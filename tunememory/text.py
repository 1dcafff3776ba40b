"""Text from outside, cleaned and folded, and the signs a terminal can show."""

from __future__ import annotations

import os
import sys
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


TITLE_LIMIT = 300
"""Longest title kept, in characters; the rest is cut with an ellipsis."""

NOTE_LIMIT = 20_000
"""Longest free text kept, in characters."""

_INVISIBLE = frozenset(
    "\u00ad\u061c\u180e\u200b\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2060\u2061\u2062"
    "\u2063\u2064\u2066\u2067\u2068\u2069\u206a\u206b\u206c\u206d\u206e\u206f\ufeff\ufff9\ufffa\ufffb"
)
"""Signs that turn text round or cannot be seen; the joiners of Arabic and Indic writing stay."""

_NOT_TEXT = frozenset({"Cc", "Cs", "Cn"})
_ON_OTHERS = frozenset({"Mn", "Me", "Cf"})
"""Signs that stand on the one before, or cannot be seen."""

_WIDE = frozenset({"W", "F"})
_UNFOLDED = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"}
)
ARTICLES = frozenset({"the", "a", "an", "le", "la", "les", "na", "der", "die", "das", "den"})
"""Words that say nothing of a title, in the languages of the tunes."""


def clean_text(text: str, *, multiline: bool = False, limit: int = TITLE_LIMIT) -> str:
    """Return ``text`` safe to store and to show.

    Composed form (NFC), control characters and bidirectional overrides removed, white space
    collapsed, cut to ``limit`` characters with an ellipsis. Accents and joiners stay. The result
    is a fixed point: cleaning it again changes nothing.

    Args:
        text: Anything from a file, an argument, the clipboard or the database.
        multiline: Keep line feeds (other line ends become line feeds) and the blanks that indent
            or part words within a line.
        limit: Longest result in characters, at least 1.
    """
    # A first cut keeps a hostile megabyte from being looked at character by character.
    first = text.lstrip()[: 4 * limit + 64]
    shortened = len(text.rstrip()) - (len(text) - len(text.lstrip())) > len(first)
    first = unicodedata.normalize("NFC", first)
    if multiline:
        first = first.replace("\r\n", "\n").replace("\r", "\n")
    kept: list[str] = []
    for character in first:
        if character == "\n" and multiline:
            kept.append(character)
        elif character.isspace():
            kept.append(" ")
        elif character not in _INVISIBLE and unicodedata.category(character) not in _NOT_TEXT:
            kept.append(character)
    # Removing a character may let its neighbours compose.
    joined = unicodedata.normalize("NFC", "".join(kept))
    if multiline:
        joined = "\n".join(line.rstrip() for line in joined.split("\n")).strip()
    else:
        joined = " ".join(joined.split())
    if len(joined) > limit or (shortened and joined):
        joined = joined[: max(limit - 1, 0)].rstrip() + "…"
    return joined


def cells(text: str) -> int:
    """Columns that cleaned text takes where letters have one width (Unicode Annex 11).

    >>> cells("Tá"), cells("鯨の歌")
    (2, 6)
    """
    return sum(
        0
        if unicodedata.category(sign) in _ON_OTHERS
        else 1 + (unicodedata.east_asian_width(sign) in _WIDE)
        for sign in text
    )


def fold(text: str) -> str:
    """Return the form of ``text`` used to search: no accents, no case, no punctuation.

    >>> fold("Tá an Lá, The")
    'ta an la the'
    """
    # Compatibility forms first, or a capital hidden in one would outlive the case folding.
    plain = unicodedata.normalize("NFKD", text).casefold().translate(_UNFOLDED)
    decomposed = unicodedata.normalize("NFKD", plain)
    # An apostrophe joins ("o'neill" is typed "oneill"); other signs part words.
    spaced = "".join(
        character if character.isalnum() else " "
        for character in decomposed
        if character not in _JOINING and unicodedata.category(character)[0] != "M"
    )
    return " ".join(spaced.split())


def word_finder(words: str) -> Callable[[str], bool]:
    """Return what tells of a folded text whether each of ``words`` begins a word of it.

    >>> word_finder("ken hum")(fold("The Humours of Kenmare"))
    True
    """
    wanted = [f" {word}" for word in fold(words).split()]
    return lambda folded: all(word in f" {folded}" for word in wanted)


_JOINING = frozenset("'’‘`´\u200c\u200d")


def fold_title(title: str) -> str:
    """Return ``fold(title)`` without a leading or trailing article.

    >>> fold_title("Humours of Glen, The") == fold_title("The Humours of Glen")
    True
    """
    words = fold(title).split()
    if len(words) > 1 and words[0] in ARTICLES:
        words = words[1:]
    if len(words) > 1 and words[-1] in ARTICLES and "," in title:
        words = words[:-1]
    return " ".join(words)


@dataclass(frozen=True, slots=True)
class Charset:
    """The signs that music and pictures are drawn with, each one cell wide.

    Attributes:
        line: A staff or ledger line through the middle of a cell.
        low_line: A staff line along the bottom of a cell.
        bar: A stem or bar line in a space; ``cross``, ``top`` and ``foot`` where it meets a line.
        head: Head of a quarter and shorter; in pictures a tune that was asked.
        hollow: Head of a half or whole note; in pictures a tune that was not asked yet.
        ghost: Where a head stood before.
        beams: One beam, two, three.
        flag_up: Flag of a stem that points up; ``flag_down`` down.
        tie: A tie.
        dot: The dot that lengthens a note.
        signs: Accidentals by semitones.
        cut: Cut time.
        clef: Rows of the treble clef by staff place; a blank lets the line through.
    """

    line: str
    low_line: str
    bar: str
    cross: str
    top: str
    foot: str
    head: str
    hollow: str
    ghost: str
    beams: tuple[str, str, str]
    flag_up: str
    flag_down: str
    tie: str
    dot: str
    signs: tuple[str, ...]
    cut: str
    clef: tuple[tuple[int, str], ...]


UNICODE = Charset(
    line="─", low_line="▁", bar="│", cross="┼", top="┬", foot="┴", head="●", hollow="○", ghost="◌",
    beams=("━", "═", "≡"), flag_up="╲", flag_down="╱", tie="‿", dot="·",
    signs=("♭♭", "♭", "♮", "♯", "x"), cut="¢",
    clef=(
        (40, "  ╭╮"), (39, "  ││"), (38, "  ││"), (37, "  ├╯"), (36, " ╭┤ "), (35, "╭╯│ "),
        (34, "│ ├╮"), (33, "│╭┼╮"), (32, "││││"), (31, "╰╰┼╯"), (30, "  │ "), (29, " ●╯ "),
    ),
)  # fmt: skip
ASCII = Charset(
    line="-", low_line="_", bar="|", cross="+", top="+", foot="+", head="@", hollow="o", ghost=".",
    beams=("=", "#", "%"), flag_up="\\", flag_down="/", tie="_", dot=".",
    signs=("bb", "b", "n", "#", "x"), cut="C|",
    clef=(
        (39, "  /\\"), (38, "  ||"), (37, "  |/"), (36, "  / "), (35, " /| "), (34, "/ |-"),
        (33, "|/|\\"), (32, "||||"), (31, "\\\\|/"), (30, "  | "), (29, " @/ "),
    ),
)  # fmt: skip


def charset_here(encoding: str = "", environment: Mapping[str, str] = os.environ) -> Charset:
    """Choose signs for a terminal: plain ones without UTF-8 or on the bare Linux console.

    Args:
        encoding: Encoding of the terminal's output, ``"utf-8"``; the one we write to when empty.
        environment: Where ``TERM`` is looked up.
    """
    encoding = encoding or getattr(sys.__stdout__, "encoding", None) or "utf-8"
    utf8 = encoding.lower().replace("_", "-") in {"utf-8", "utf8"}
    bare_console = environment.get("TERM", "") in {"linux", "vt100", "vt220", "dumb"}
    return UNICODE if utf8 and not bare_console else ASCII
