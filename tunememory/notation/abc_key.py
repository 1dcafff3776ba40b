"""The ``K:`` field of ABC 2.1 (section 3.1.14): root, mode, signature."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tunememory.notation.signature import fifths_of, key_of_signature
from tunememory.tunes.abc_tokens import SIGNS
from tunememory.tunes.key import Key

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

_MODES = {
    "maj": "major", "ion": "major", "min": "minor", "aeo": "minor", "mix": "mixolydian",
    "dor": "dorian", "phr": "phrygian", "lyd": "lydian", "loc": "locrian",
}  # fmt: skip
_MODE_WORDS = ("major", "ionian", "minor", "aeolian", "mixolydian", "dorian", "phrygian",
               "lydian", "locrian")  # fmt: skip
_ACCIDENTAL = re.compile(r"(\^{1,2}|_{1,2}|=)([A-Ga-g])")
_TONIC = re.compile(r"([A-Ga-g])([#b♯♭]?)(.*)", re.DOTALL)
# Clefs and their settings (4.6) say how to print, not what sounds.
_CLEF = re.compile(
    r"[a-zH-Z][A-Za-z-]*=\S*|(?i:treble|alto|tenor|bass|baritone|soprano|mezzo|perc)\d?(?:[+-]8)?"
)
_PLAIN = dict.fromkeys("CDEFGAB", 0)
_PIPES = _PLAIN | {"F": 1, "C": 1}


@dataclass(frozen=True, slots=True)
class KeyField:
    """What a ``K:`` field says.

    Attributes:
        key: ``None`` when the field names no root.
        alters: Accidental of every letter in the signature, in semitones.
        fifths: Sharps (flats negative) of a signature given without a root; else ``None``.
        doubt: Why the field is not to be trusted; empty when it is.
    """

    key: Key | None
    alters: Mapping[str, int]
    doubt: str = ""
    fifths: int | None = None


NO_KEY = KeyField(None, _PLAIN)
"""``K:`` left empty, or ``K:none``: no signature and no root."""


def read_key(text: str) -> KeyField:
    """Read the value of a ``K:`` field. Never raises; what it cannot read it doubts.

    >>> read_key("D Phr ^f").key
    Key(root='D', mode='phrygian', changes=(('F', 1),))
    """
    words = [word for word in text.split() if not _CLEF.fullmatch(word)]
    shown = " ".join(words)
    if not words or words[0].lower() == "none":
        return NO_KEY
    if words[0].lower() == "hp":
        return KeyField(None, _PIPES, "K: says highland pipes, which names no root", 2)
    signs = dict(_read_signs(shown))
    plain = _ACCIDENTAL.sub(" ", shown).strip()
    tonic = _TONIC.fullmatch(plain)
    if tonic is None:
        alters = _PLAIN | signs
        if plain:
            return KeyField(None, alters, f"K:{shown[:40]} is not a key")
        return KeyField(None, alters, fifths=fifths_of(alters))
    root = tonic[1].upper() + tonic[2].replace("♯", "#").replace("♭", "b")
    mode_words = tonic[3].split()
    explicit = any(word.lower() == "exp" for word in mode_words)
    mode, doubt = _read_mode([word for word in mode_words if word.lower() != "exp"])
    signature = Key(root, mode).alters()
    wanted = (_PLAIN if explicit else signature) | signs
    changes = tuple(sorted((k, v) for k, v in wanted.items() if v != signature[k]))
    key = Key(root, mode, changes)
    if tonic[1].islower():
        doubt = "its root is a small letter"
    return KeyField(key, key.alters(), f"K:{shown[:40]} read as {key.name}: {doubt}" * bool(doubt))


def write_key(key: Key | None) -> str:
    """Write the value of a ``K:`` field that ``read_key`` reads back as ``key``."""
    if key is None:
        return "none"
    sign_of = {alter: sign for sign, alter in SIGNS.items()}
    return " ".join([key.short, *(sign_of[a] + letter.lower() for letter, a in key.changes)])


def write_signature(fifths: int) -> str:
    """Write the value of a ``K:`` field that gives a signature and no root."""
    signs = {1: "^", -1: "_"}
    alters = key_of_signature(fifths, "major").alters()
    given = [signs[alter] + letter.lower() for letter, alter in alters.items() if alter]
    return " ".join(given) or "=c"


def _read_signs(text: str) -> Iterable[tuple[str, int]]:
    for found in _ACCIDENTAL.finditer(text):
        yield found[2].upper(), SIGNS[found[1]]


def _read_mode(words: list[str]) -> tuple[str, str]:
    """Return the mode and a doubt. Only the first three letters count, in any case."""
    if not words:
        return "major", ""
    word = words[0]
    low = word.lower()
    if low == "m":
        return "minor", ""
    mode = _MODES.get(low[:3])
    if mode is not None:
        known = any(name.startswith(low) for name in _MODE_WORDS)
        return mode, "" if known else f"“{word[:20]}” is not a mode"
    # A single letter beside M on the keyboard is the commonest slip in old tune files.
    return ("minor" if len(low) == 1 else "major"), f"“{word[:20]}” is not a mode"
