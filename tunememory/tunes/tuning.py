"""Tunings: the strings are what is kept, the nickname is looked up."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tuning:
    """Open strings of an instrument.

    Attributes:
        strings: MIDI numbers, low string first; 1 to 8 strings.
    """

    strings: tuple[int, ...]

    @property
    def letters(self) -> str:
        """String letters, low first: ``"GDAE"``, ``"AEAC#"``."""
        return "".join(_NAMES[number % 12] for number in self.strings)

    @property
    def nickname(self) -> str:
        """The trade's name (``"standard"``, ``"cross A"``), or an empty string."""
        return NICKNAMES.get(self.strings, "")


_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")

STANDARD = Tuning((55, 62, 69, 76))
"""Fiddle and mandolin: G3 D4 A4 E5."""

NICKNAMES: dict[tuple[int, ...], str] = {
    (55, 62, 69, 76): "standard",
    (57, 64, 69, 76): "cross A",
    (55, 62, 67, 74): "cross G",
    (57, 62, 69, 76): "high bass",
    (55, 62, 69, 74): "gee-dad",
    (50, 62, 69, 74): "dead man's",
    (57, 64, 69, 73): "calico",
    (55, 62, 67, 71): "open G",
    (53, 60, 67, 74): "one step down",
}
"""Common practice of fiddlers; two published lists agree on the strings."""
