"""The key of a tune: its ``K:`` field (ABC 2.1, 3.1.14), and what its notes suggest."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from tunememory.music.key import NO_SIGNS, USUAL_MODES, Key, fifths_of, key_of_signature
from tunememory.music.pitch import SIGN_OF, SIGNS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from tunememory.music.pitch import Note


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
_PIPES = {**NO_SIGNS, "F": 1, "C": 1}


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


NO_KEY = KeyField(None, NO_SIGNS)
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
        alters = {**NO_SIGNS, **signs}
        if plain:
            return KeyField(None, alters, f"K:{shown[:40]} is not a key")
        return KeyField(None, alters, fifths=fifths_of(alters))
    root = tonic[1].upper() + tonic[2].replace("♯", "#").replace("♭", "b")
    mode_words = tonic[3].split()
    explicit = any(word.lower() == "exp" for word in mode_words)
    mode, doubt = _read_mode([word for word in mode_words if word.lower() != "exp"])
    signature = Key(root, mode).alters()
    wanted = {**(NO_SIGNS if explicit else signature), **signs}
    changes = tuple(sorted((k, v) for k, v in wanted.items() if v != signature[k]))
    key = Key(root, mode, changes)
    if tonic[1].islower():
        doubt = "its root is a small letter"
    return KeyField(key, key.alters(), f"K:{shown[:40]} read as {key.name}: {doubt}" * bool(doubt))


def write_key(key: Key | None) -> str:
    """Write the value of a ``K:`` field that ``read_key`` reads back as ``key``."""
    if key is None:
        return "none"
    return " ".join([key.short, *(SIGN_OF[a] + letter.lower() for letter, a in key.changes)])


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


_MAJOR = (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400)
_MINOR = (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330)

_LAST_NOTES, _LAST_NOTES_SIGNED = (0.15, 0.10), (0.20, 0.15)
"""Added to the correlation of keys whose root is the last note of the tune, of the first part; the
same where the signature is known."""

SURE_FROM = 0.05
"""Least lead of the best key over the next for the guess to be taken."""

_ROOTS = {"major": ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"),
          "minor": ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")}  # fmt: skip


@dataclass(frozen=True, slots=True)
class KeyGuess:
    """The best key and the next.

    Attributes:
        key: Best key; its mode may be dorian or mixolydian.
        other: Next best.
        lead: How much better the best fits, 0 for not at all.
    """

    key: Key
    other: Key
    lead: float

    @property
    def sure(self) -> bool:
        """Whether the best key leads clearly."""
        return self.lead >= SURE_FROM


def guess_key(parts: Sequence[Sequence[Note]], fifths: int | None = None) -> KeyGuess | None:
    """Guess a tune's key from its parts in order; ``None`` without notes.

    Args:
        parts: Notes of each part, the last note of each last.
        fifths: Sharps of the signature, or flats as a negative number, -7 to 7: then only keys
            that have it are looked at. ``None`` where it is not known.
    """
    sounding = [part for part in parts if part]
    if not sounding:
        return None
    weights = _histogram(note for part in sounding for note in part)
    lasts = [part[-1].pitch.midi % 12 for part in (sounding[-1], sounding[0])]
    if fifths is None:
        keys = [Key(_ROOTS[mode][root], mode) for root in range(12) for mode in _ROOTS]
        bonuses = _LAST_NOTES
    else:
        keys = [key_of_signature(fifths, mode) for mode in USUAL_MODES]
        bonuses = _LAST_NOTES_SIGNED

    def score(key: Key) -> float:
        root = key.root_class
        profile = _MAJOR if key.mode in {"major", "mixolydian"} else _MINOR
        ends = sum(b for b, last in zip(bonuses, lasts, strict=True) if last == root)
        return _correlation(weights[root:] + weights[:root], profile) + ends

    scores = {key: score(key) for key in keys}
    best, other = sorted(keys, key=scores.__getitem__, reverse=True)[:2]
    lead = scores[best] - scores[other]
    if fifths is None:
        root = best.root_class
        best = Key(best.root, _mode(weights[root:] + weights[:root], best.mode))
    return KeyGuess(best, other, lead)


def _histogram(notes: Iterable[Note]) -> list[float]:
    weights = [0.0] * 12
    for note in notes:
        weights[note.pitch.midi % 12] += float(note.quarters)
    return weights


def _mode(degrees: Sequence[float], family: str) -> str:
    """The mode, by which seventh or sixth above the root sounds longer."""
    if family == "major":
        return "mixolydian" if degrees[10] > degrees[11] else "major"
    return "dorian" if degrees[9] > degrees[8] else "minor"


def _correlation(one: Sequence[float], other: Sequence[float]) -> float:
    """Pearson's correlation; 0 where either does not vary."""
    mean_one, mean_other = sum(one) / len(one), sum(other) / len(other)
    first = [value - mean_one for value in one]
    second = [value - mean_other for value in other]
    spread = sqrt(sum(v * v for v in first) * sum(v * v for v in second))
    return sum(a * b for a, b in zip(first, second, strict=True)) / spread if spread else 0.0
