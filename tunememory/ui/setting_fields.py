"""What can be set, in the player's words, and how a field turns to its next value."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from tunememory.service.settings import (
    ASKED_BY,
    ENTRY_FORMS,
    LOUDNESS,
    SET_WORDS,
    SHOWN_AS,
    THEMES,
    Settings,
)
from tunememory.tunes.instruments import INSTRUMENTS


@dataclass(frozen=True, slots=True)
class Field:
    """One setting.

    Attributes:
        name: Field of ``Settings``.
        label: What it is called.
        says: One line about it.
        choices: Its values where there are few.
        step: What one turn adds to a number, 0 for anything else.
        unit: Word after a number.
        typed: It is written by hand.
    """

    name: str
    label: str
    says: str
    choices: tuple[Any, ...] = ()
    step: float = 0
    unit: str = ""
    typed: bool = False

    def shown(self, settings: Settings) -> str:
        """Return the value in words."""
        value = getattr(settings, self.name)
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, (int, float)):
            return f"{value:g} {self.unit}".strip()
        if self.name == "standing_tuning" and not value:
            return f"{settings.usual_tuning} (the usual one)"
        return str(value)

    def turned(self, settings: Settings, step: int) -> Settings:
        """Return settings with the next value (1) or the one before (-1)."""
        value = getattr(settings, self.name)
        if self.choices:
            place = self.choices.index(value) if value in self.choices else 0
            return self.put(settings, self.choices[(place + step) % len(self.choices)])
        if self.step:
            return self.put(settings, type(value)(value + step * self.step))
        return settings

    def put(self, settings: Settings, value: object) -> Settings:
        """Return settings with ``value``; it is not checked here."""
        if self.name == "instrument":
            return settings.played_on(str(value))
        changed: dict[str, Any] = {self.name: value}
        return replace(settings, **changed)


FIELDS = (
    Field("minutes_first", "First round", "How long the first round may take.", step=1,
          unit="min"),
    Field("minutes_last", "Last round", "How long the last round may take.", step=1, unit="min"),
    Field("instrument", "Instrument",
          "Whether fingers or frets are shown, and what lies beyond it. Each keeps its tunings.",
          tuple(INSTRUMENTS)),
    Field("standing_tuning", "Instrument stands in",
          "Strings, low first, or a nickname. Empty is the usual tuning.", typed=True),
    Field("usual_tuning", "Usual tuning", "Tuning of every tune that names none.", typed=True),
    Field("intake", "New tunes at a time",
          "At most this many tunes in learning are asked for.", step=1),
    Field("shown_as", "Starts are shown as", "Letters, fingers, or both.", SHOWN_AS),
    Field("entry_form", "Starts are typed as",
          "What is meant when a start is typed without a prefix.", ENTRY_FORMS),
    Field("theme", "Light", "Lamp-light is dark, paper is light.", THEMES),
    Field("animations", "Movement", "Whether the screen may glide.", (False, True)),
    Field("asked_by", "“What's this one?” is",
          "A start to be named is shown, heard on a plucked string, or both.", ASKED_BY),
    Field("drone", "Drone", "Open strings of the root sound under a start.", (False, True)),
    Field("loudness", "Loudness", "How loud a start sounds.", LOUDNESS),
    Field("set_word", "Tunes in a row", "What you call tunes played in a row.", SET_WORDS),
    Field("day_ends_at", "A day ends at", "What is played before this hour counts for the day "
          "before.", step=1, unit="in the morning"),
)  # fmt: skip
"""Every setting, in the order it is shown."""
