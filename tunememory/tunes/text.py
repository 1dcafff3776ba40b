"""Text that comes from outside: cleaned before it is kept, folded before it is searched."""

from __future__ import annotations

import unicodedata

TITLE_LIMIT = 300
"""Longest title kept, in characters; the rest is cut with an ellipsis."""

NOTE_LIMIT = 20_000
"""Longest free text kept, in characters."""

_BIDI_CONTROLS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_LINE_SEPARATORS = frozenset("\u2028\u2029")
_UNFOLDED = str.maketrans(
    {"ø": "o", "Ø": "o", "ł": "l", "Ł": "l", "đ": "d", "Đ": "d", "ð": "d", "Ð": "d",
     "þ": "th", "Þ": "th", "æ": "ae", "Æ": "ae", "œ": "oe", "Œ": "oe", "ı": "i"}
)  # fmt: skip
_ARTICLES = frozenset({"the", "a", "an", "le", "la", "les", "an", "na", "der", "die", "das", "den"})


def clean_text(text: str, *, multiline: bool = False, limit: int = TITLE_LIMIT) -> str:
    """Return ``text`` safe to store and to show.

    Composed form (NFC), control characters and bidirectional overrides removed, white space
    collapsed, cut to ``limit`` characters. Accents and joiners stay. The result is a fixed
    point: cleaning it again changes nothing.

    Args:
        text: Anything from a file, an argument, the clipboard or the database.
        multiline: Keep line feeds (other line ends become line feeds).
        limit: Longest result in characters, at least 1.
    """
    # A first cut keeps a hostile megabyte from being normalised in full.
    text = unicodedata.normalize("NFC", text[: 4 * limit + 64])
    if multiline:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    kept: list[str] = []
    for character in text:
        if character == "\n" and multiline:
            kept.append(character)
        elif character in "\t\n\r" or character in _LINE_SEPARATORS:
            kept.append(" ")
        elif character in _BIDI_CONTROLS or unicodedata.category(character) in {"Cc", "Cs", "Cn"}:
            continue
        else:
            kept.append(character)
    # Removing a character may let its neighbours compose.
    joined = unicodedata.normalize("NFC", "".join(kept))
    if multiline:
        lines = [" ".join(line.split(" ")).rstrip() for line in joined.split("\n")]
        joined = "\n".join(lines).strip("\n")
    else:
        joined = " ".join(joined.split())
    if len(joined) > limit:
        joined = joined[: max(limit - 1, 0)].rstrip() + "…"
    return joined


def fold(text: str) -> str:
    """Return the form of ``text`` used to search: no accents, no case, no punctuation.

    >>> fold("Tá an Lá, The")
    'ta an la the'
    """
    decomposed = unicodedata.normalize("NFKD", text.translate(_UNFOLDED).casefold())
    plain = (c for c in decomposed if not unicodedata.combining(c))
    # An apostrophe joins ("o'neill" is typed "oneill"); other signs part words.
    spaced = "".join(c if c.isalnum() else "" if c in "'’‘`" else " " for c in plain)
    return " ".join(spaced.split())


def fold_title(title: str) -> str:
    """Return ``fold(title)`` without a leading or trailing article.

    >>> fold_title("Humours of Glen, The") == fold_title("The Humours of Glen")
    True
    """
    words = fold(title).split()
    if len(words) > 1 and words[0] in _ARTICLES:
        words = words[1:]
    if len(words) > 1 and words[-1] in _ARTICLES and "," in title:
        words = words[:-1]
    return " ".join(words)
